package population

import pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"

// entry is a reading that is about to be written down.
type entry struct {
	t     *task
	f     *fit // nil for what is no number
	value float64
	found float64
	at    int64
	// foundAt is when found was read.
	foundAt  int64
	hasFound bool
	failed   bool               // an inspection did not pass
	choice   *pb.Reading_Choice // what was seen
	blank    bool               // written down without a result
	left     bool               // not written down at all
	alone    bool               // without its instrument
	unsaid   bool               // without its fastener
	other    []pb.Condition     // conditions in place of those of the task
	swapped  bool               // other holds
}

// draft is a record that is about to be written.
type draft struct {
	family  *family
	plan    *plan
	shop    *shop
	who     *technician
	unit    int
	vin     string
	hours   float64
	start   int64
	finish  int64
	lapsed  *tool // that nobody has had calibrated, if there is one
	entries []entry
	truth   Truth
}

func (d *draft) slip(s Slip) { d.truth.Slips = append(d.truth.Slips, s) }

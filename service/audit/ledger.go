package audit

import (
	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/service/statistic"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// What is kept apart at most. What is beyond is pooled, or not looked at more
// closely; the summary says so. Together they bound the memory of an audit to
// about a hundred megabytes, and its checkpoint to MaxCheckpoint.
const (
	mostShops           = 512
	mostTechnicians     = 4096
	mostRevisions       = 2048
	mostCharacteristics = 8192
	mostMonths          = 600
	mostPhases          = 16
	mostDuties          = 1 << 15 // records by technician, revision and phase
	mostCells           = 1 << 15 // of characteristics, by month, by revision and by shop
	mostHands           = 1 << 16 // of characteristics, by technician and step
	mostStrata          = 16      // steps that one characteristic is read in
	mostLimits          = 1 << 14
	mostKinds           = 1 << 12 // of findings by code and characteristic
	mostReasons         = 256     // of errors, which are the service's own
	mostVINBuckets      = 1 << 15
	mostRepeatBuckets   = 1 << 14
	mostPlaceBuckets    = 1 << 14 // instruments by hour
	ringSize            = 16      // a person's latest records, to compare with
	mostExamples        = 5
	mostNotes           = 16 // that joins leave
	// mostRecords bounds what an audit counts, so that no sum of its counts
	// overflows.
	mostRecords = 1 << 38
	// MaxCheckpoint bounds a checkpoint in bytes: that of the largest audit is below
	// it, and [Restore] takes no larger one.
	MaxCheckpoint = 64 << 20
)

// ledger is all that an audit knows. It is what a checkpoint holds.
type ledger struct {
	Records int64               `cbor:"1,keyasint"`
	Errors  int64               `cbor:"2,keyasint"`
	Reasons map[string]int64    `cbor:"3,keyasint,omitempty"` // of errors
	First   instant             `cbor:"4,keyasint"`           // finish times
	Last    instant             `cbor:"5,keyasint"`
	Shops   roster              `cbor:"6,keyasint"`
	People  roster              `cbor:"7,keyasint"`           // shop, newline, technician
	Works   []int32             `cbor:"8,keyasint,omitempty"` // the shop of each of People
	Revised roster              `cbor:"9,keyasint"`           // revisions by name
	Total   tally               `cbor:"10,keyasint"`
	ByShop  []tally             `cbor:"11,keyasint,omitempty"`
	ByHand  []tally             `cbor:"12,keyasint,omitempty"` // of People
	ByRev   []tally             `cbor:"13,keyasint,omitempty"`
	Models  []string            `cbor:"14,keyasint,omitempty"` // of each of Revised
	ByPhase map[int32]*tally    `cbor:"15,keyasint,omitempty"`
	ByMonth map[int32]*tally    `cbor:"16,keyasint,omitempty"`
	Kinds   []kind              `cbor:"17,keyasint,omitempty"`
	Chars   []*characteristic   `cbor:"18,keyasint,omitempty"`
	Rings   map[int32]ring      `cbor:"19,keyasint,omitempty"` // of People
	Shown   map[int32]*examples `cbor:"20,keyasint,omitempty"` // of People
	VINs    sightings           `cbor:"21,keyasint"`
	Repeats sightings           `cbor:"22,keyasint"`
	Places  sightings           `cbor:"23,keyasint"`
	Crowded int64               `cbor:"24,keyasint,omitempty"` // what found no cell
	Notes   []string            `cbor:"25,keyasint,omitempty"` // of joins
	Duties  map[int64]*tally    `cbor:"26,keyasint,omitempty"` // see dutyOf
}

// instant is a time to the nanosecond, wherever in the years 1 to 9999 it lies.
type instant struct {
	_       struct{} `cbor:",toarray"`
	Seconds int64    // since 1970
	Nanos   int32
}

func (i instant) before(other instant) bool {
	return i.Seconds < other.Seconds || i.Seconds == other.Seconds && i.Nanos < other.Nanos
}

func (i instant) proto() *timestamppb.Timestamp {
	return &timestamppb.Timestamp{Seconds: i.Seconds, Nanos: i.Nanos}
}

// examples are the first records that show each sign.
type examples [recordSigns][]int64

// recordSigns are the signs that a single record can show; their numbers begin at
// 1 and leave no gap.
const recordSigns = int(pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT) + 1

// tally counts records.
type tally struct {
	_        struct{}           `cbor:",toarray"`
	Verdicts [5]int64           // by pb.Verdict
	Chances  [recordSigns]int64 // records in which a sign could show
	Shown    [recordSigns]int64 // records in which it does
}

func (t *tally) records() (n int64) {
	for _, v := range t.Verdicts {
		n += v
	}
	return n
}

// showLate counts a record as one that shows a sign after all. That it could was
// counted when it came, but for a record that had nothing to be compared with then.
func (t *tally) showLate(sign pb.AuditSign) {
	t.Shown[sign]++
	t.Chances[sign] = max(t.Chances[sign], t.Shown[sign])
}

func (t *tally) merge(other *tally) {
	for i, n := range other.Verdicts {
		t.Verdicts[i] += n
	}
	for i := range other.Chances {
		t.Chances[i] += other.Chances[i]
		t.Shown[i] += other.Shown[i]
	}
}

// kind counts findings of one code at one characteristic.
type kind struct {
	_        struct{} `cbor:",toarray"`
	Code     int32
	ID       string
	Name     string
	Severity int32 // the worst
	Count    int64
}

// outcomes counts by pb.OutcomeKind.
type outcomes [6]int64

func (o *outcomes) merge(other outcomes) {
	for i, n := range other {
		o[i] += n
	}
}

func (o outcomes) sum() (n int64) {
	for _, v := range o {
		n += v
	}
	return n
}

// characteristic is what is known of one characteristic of one spec.
type characteristic struct {
	Spec      string              `cbor:"1,keyasint"`
	ID        string              `cbor:"2,keyasint"`
	Name      string              `cbor:"3,keyasint"`
	Unit      string              `cbor:"4,keyasint,omitempty"`
	Group     int32               `cbor:"5,keyasint"`
	Order     int32               `cbor:"6,keyasint"` // in the job, of the record that it was seen in first
	Outcomes  outcomes            `cbor:"7,keyasint"`
	Limits    []*limits           `cbor:"8,keyasint,omitempty"`
	Months    map[int32]*period   `cbor:"9,keyasint,omitempty"`
	Revisions map[int32]*period   `cbor:"10,keyasint,omitempty"`
	Shops     map[int32]*shopCell `cbor:"11,keyasint,omitempty"`
	Strata    []*stratum          `cbor:"12,keyasint,omitempty"`
}

// limits are values under one set of limits of one revision.
type limits struct {
	_                     struct{} `cbor:",toarray"`
	Revision              int32
	Lower, Upper, Nominal float64 // as in frame
	Left, Found           values
}

func (l *limits) frame() frame { return frame{l.Lower, l.Upper, l.Nominal} }

// period is a characteristic in one month, or under one revision.
type period struct {
	_        struct{} `cbor:",toarray"`
	Moments  statistic.Moments
	Outcomes outcomes
}

// shopCell is a characteristic in one shop. Line has days on x and values on the
// scale of their limits on y.
type shopCell struct {
	_        struct{} `cbor:",toarray"`
	Outcomes outcomes
	Line     statistic.Line
}

// stratum holds the readings of a characteristic that were taken with one last
// digit's weight: only those are compared with one another.
type stratum struct {
	_     struct{}        `cbor:",toarray"`
	Step  float64         // in the characteristic's unit
	Hands map[int32]*hand // of People
}

// hand is what one person wrote in one stratum.
type hand struct {
	_         struct{} `cbor:",toarray"`
	Digits    [10]int64
	Steps     statistic.Moments // of the readings with a last digit that matters, in steps
	NominalOf int64             // readings of what has a nominal value
	AtNominal int64
	LimitOf   int64 // readings of what has limits
	AtLimit   int64
}

// ring keeps a person's latest signatures, oldest first.
type ring []kept

// kept is a signature that is kept.
type kept struct {
	_         struct{} `cbor:",toarray"`
	Record    int64
	Unit      uint32 // number of the VIN
	Signature []uint32
}

func (r *ring) push(k kept) {
	if len(*r) == ringSize {
		copy(*r, (*r)[1:])
		(*r)[ringSize-1] = k
		return
	}
	*r = append(*r, k)
}

package population

// Habit is how a technician comes by what is written down.
type Habit string

// The habits.
const (
	// HabitHonest measures with care, and errs seldom.
	HabitHonest Habit = "honest"
	// HabitCareless measures, but leaves out, errs and passes by more.
	HabitCareless Habit = "careless"
	// HabitCopied repeats, in some records, what an earlier record says of another
	// unit.
	HabitCopied Habit = "copied"
	// HabitInvented makes readings up.
	HabitInvented Habit = "invented"
	// HabitDrifting is honest, with an instrument that shows more and more amiss.
	HabitDrifting Habit = "drifting"
)

// Truth is what really happened to a record. Of a field that does not apply the
// value is absent or nought.
type Truth struct {
	// Index of the record in its population, from 0.
	Index int64 `json:"index"`
	// Shop and technician, as in the record.
	Shop       string `json:"shop"`
	Technician string `json:"technician"`
	// Habit of the technician.
	Habit Habit `json:"habit"`
	// MadeUp says that this record's readings are invented.
	MadeUp bool `json:"made_up,omitempty"`
	// CopyOf is the index of the record whose readings this one repeats, and Changed
	// how many of them were changed.
	CopyOf  *int64 `json:"copy_of,omitempty"`
	Changed int    `json:"changed,omitempty"`
	// SameVINAs is the index of the earlier record of the same unit and phase.
	SameVINAs *int64 `json:"same_vin_as,omitempty"`
	// SharedSerial is the serial number of the instrument that is in another shop as
	// well, where this record uses it.
	SharedSerial string `json:"shared_serial,omitempty"`
	// DriftingSerial is the serial number of the drifting instrument, where this
	// record uses it.
	DriftingSerial string `json:"drifting_serial,omitempty"`
	// Slips names what was done wrong that ought to be found.
	Slips []Slip `json:"slips,omitempty"`
}

// Slip is something that went wrong in a record.
type Slip string

// The slips.
const (
	SlipMissingReading Slip = "missing_reading"
	SlipOutOfLimits    Slip = "out_of_limits"
	SlipFailed         Slip = "failed_inspection"
	SlipCondition      Slip = "condition"
	SlipOrder          Slip = "order"
	SlipVIN            Slip = "vin"
	SlipCalibration    Slip = "calibration"
	SlipFastenerUnsaid Slip = "fastener_unsaid"
	SlipNoInstrument   Slip = "no_instrument"
	SlipTimesAtOnce    Slip = "times_at_once"
	SlipTooFast        Slip = "too_fast"
	SlipTooFine        Slip = "finer_than_instrument"
)

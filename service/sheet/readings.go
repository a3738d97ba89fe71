package sheet

import (
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// readings are a record's readings by characteristic. The zero value has none.
type readings struct {
	found, left map[string]*pb.Reading
	order       []string // of characteristics, as they first come in the record
	instruments map[string]*pb.Instrument
}

func readingsOf(rec *pb.SetupRecord) readings {
	r := readings{
		found:       map[string]*pb.Reading{},
		left:        map[string]*pb.Reading{},
		instruments: map[string]*pb.Instrument{},
	}
	for _, in := range rec.GetInstruments() {
		r.instruments[in.GetId()] = in
	}
	for _, reading := range rec.GetReadings() {
		id := reading.GetCharacteristic()
		if r.found[id] == nil && r.left[id] == nil {
			r.order = append(r.order, id)
		}
		if reading.GetStage() == pb.Stage_STAGE_AS_FOUND {
			r.found[id] = reading
		} else {
			r.left[id] = reading
		}
	}
	return r
}

// of returns the readings of a characteristic, nil where there is none.
func (r readings) of(id string) (found, left *pb.Reading) { return r.found[id], r.left[id] }

// standing is the reading that decides: as left, else as found.
func (r readings) standing(id string) *pb.Reading {
	if left := r.left[id]; left != nil {
		return left
	}
	return r.found[id]
}

// pair gives a characteristic's readings as values in the unit of its limits.
func (r readings) pair(c *pb.Characteristic, system quantity.System) (found, left reading) {
	s, ok := subjectOf(c, system)
	if !ok {
		return reading{}, reading{}
	}
	f, l := r.of(c.GetId())
	return r.value(f, s), r.value(l, s)
}

// value gives one reading in the subject's unit, with its expanded uncertainty
// where the record lets it be known.
func (r readings) value(from *pb.Reading, s subject) reading {
	raw, ok := from.GetResult().(*pb.Reading_Value)
	if !ok {
		return reading{}
	}
	unit := s.unit
	if from.GetUnit() != "" {
		var err error
		if unit, err = quantity.ParseUnit(from.GetUnit()); err != nil {
			return reading{}
		}
	}
	v, err := unit.Convert(raw.Value, s.unit)
	if err != nil || !finite(v) {
		return reading{}
	}
	out := readingOf(v)
	if from.ExpandedUncertainty != nil {
		if u, err := unit.ConvertDifference(from.GetExpandedUncertainty(), s.unit); err == nil {
			out.expanded = u
		}
		return out
	}
	// Drawn as it was judged by.
	if u, known := gauge.StandardUncertainty(r.instruments[from.GetInstrument()], v, s.unit); known {
		out.expanded = gauge.CoverageFactor * u
	}
	return out
}

// sayReading says what was read, in the units in which its characteristic is
// said; as it was written down where that is not known. It is empty for a nil
// reading and for one without a result.
func sayReading(r *pb.Reading, c *pb.Characteristic, system quantity.System) string {
	switch result := r.GetResult().(type) {
	case *pb.Reading_Pass:
		if result.Pass {
			return "right"
		}
		return "wrong"
	case *pb.Reading_Choice:
		return result.Choice
	case *pb.Reading_Text:
		return result.Text
	case *pb.Reading_Value:
		if s, ok := subjectOf(c, system); ok {
			if v := (readings{}).value(r, s); v.known {
				return s.say(v.value)
			}
		}
		said := strconv.FormatFloat(result.Value, 'g', -1, 64)
		unit, err := quantity.ParseUnit(r.GetUnit())
		if err != nil {
			return strings.TrimSpace(said + " " + r.GetUnit())
		}
		return quantity.Format(result.Value, unit, shownDigits)
	}
	return ""
}

// recordFacts say who did the work, when and at what reading of the machine.
func recordFacts(rec *pb.SetupRecord, opt Options) []fact {
	var out []fact
	words := func(label, value string) {
		if value != "" {
			out = append(out, fact{label: label, value: value})
		}
	}
	if rec.GetFinishTime() != nil {
		words("Finished", rec.GetFinishTime().AsTime().In(opt.Made.Location()).Format("2006-01-02 15:04 MST"))
	}
	words("Shop", rec.GetShop())
	words("Technician", rec.GetTechnician())
	unit := rec.GetUnit()
	if unit != nil && unit.OdometerKm != nil {
		words("Odometer", sayIn(unit.GetOdometerKm(), "km", opt.Units))
	}
	if unit != nil && unit.Hours != nil {
		words("Running hours", sayIn(unit.GetHours(), "h", opt.Units))
	}
	return out
}

// sayIn says a value of a known unit for readers of one system.
func sayIn(v float64, code string, system quantity.System) string {
	from := quantity.MustUnit(code)
	to := from.In(system, v)
	converted, err := from.Convert(v, to)
	if err != nil {
		converted, to = v, from
	}
	return quantity.Format(converted, to, shownDigits)
}

func instrumentWords(k pb.InstrumentKind) string {
	if k == pb.InstrumentKind_INSTRUMENT_KIND_UNSPECIFIED {
		return "not stated"
	}
	return phrase.Words(k)
}

func accuracyWords(in *pb.Instrument) string {
	unit, err := quantity.ParseUnit(in.GetUnit())
	say := func(v float64) string {
		if err != nil {
			return strings.TrimSpace(strconv.FormatFloat(v, 'g', shownDigits, 64) + " " + in.GetUnit())
		}
		return quantity.Format(v, unit, shownDigits)
	}
	switch a := in.GetAccuracy().(type) {
	case *pb.Instrument_ExpandedUncertainty:
		return "±" + say(a.ExpandedUncertainty) + " (k = 2)"
	case *pb.Instrument_MaxPermissibleError:
		return "±" + say(a.MaxPermissibleError) + " at most"
	case *pb.Instrument_MaxDeviationPercent:
		return "±" + strconv.FormatFloat(a.MaxDeviationPercent, 'g', shownDigits, 64) + " % of the reading"
	}
	return "not stated"
}

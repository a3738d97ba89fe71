package population

import (
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// note marks every record for what it is.
const note = "Invented for demonstration."

var (
	passed    = &pb.Reading_Pass{Pass: true}
	notPassed = &pb.Reading_Pass{}
)

// write makes the record of the draft. What it consists of is allocated at one
// time, since there is much of it.
func (m *maker) write() *pb.SetupRecord {
	r := &m.draft
	readings := 0
	for i := range r.entries {
		e := &r.entries[i]
		if e.left {
			continue
		}
		readings++
		if e.hasFound {
			readings++
		}
	}
	rec := &pb.SetupRecord{
		Unit: &pb.Unit{
			Vin: r.vin, Model: r.family.names[r.shop.index%len(r.family.names)], ModelYear: int32(r.family.year), Market: r.family.market,
		},
		Phase: r.plan.phase, Shop: r.shop.id, Technician: r.who.id,
		StartTime:  &timestamppb.Timestamp{Seconds: r.start},
		FinishTime: &timestamppb.Timestamp{Seconds: r.finish},
		Options:    r.plan.options, Conditions: r.plan.conditions,
		Readings: make([]*pb.Reading, 0, readings),
		Note:     note,
	}
	numbers := make([]float64, 2)
	numbers[0], numbers[1] = r.hours, decimal{1, 1}.at(float64(r.hours*27))
	rec.Unit.Hours, rec.Unit.OdometerKm = &numbers[0], &numbers[1]

	pages := make([]page, readings)
	m.used = m.used[:0]
	for i := range r.entries {
		e := &r.entries[i]
		if e.left {
			continue
		}
		if e.hasFound {
			p := &pages[len(rec.Readings)]
			m.common(p, e, e.foundAt)
			p.reading.Stage = pb.Stage_STAGE_AS_FOUND
			p.value.Value = e.found
			rec.Readings = append(rec.Readings, &p.reading)
		}
		p := &pages[len(rec.Readings)]
		m.common(p, e, e.at)
		if e.hasFound {
			p.reading.Stage = pb.Stage_STAGE_AS_LEFT
		}
		m.result(p, e)
		rec.Readings = append(rec.Readings, &p.reading)
	}
	rec.Instruments = append(make([]*pb.Instrument, 0, len(m.used)), m.used...)
	return rec
}

// page is what one reading is written on.
type page struct {
	reading pb.Reading
	time    timestamppb.Timestamp
	value   pb.Reading_Value
}

// common writes what readings as found and as left have in common.
func (m *maker) common(p *page, e *entry, at int64) {
	r := &m.draft
	p.reading.Characteristic = e.t.c.GetId()
	p.time.Seconds = at
	p.reading.Time = &p.time
	p.reading.Conditions = e.t.conditions
	if e.swapped {
		p.reading.Conditions = e.other
	}
	if e.f == nil || e.blank {
		return
	}
	p.reading.Result = &p.value
	if e.t.kind != isCounted {
		p.reading.Unit = e.f.unit
		if e.f.tool == nil && e.t.unit == (quantity.Unit{}) {
			p.reading.Unit = "1"
		}
	}
	if e.f.tool == nil || e.alone {
		return
	}
	p.reading.Instrument = e.f.tool.in.GetId()
	in := e.f.tool.at(at, r.lapsed == e.f.tool)
	for _, other := range m.used {
		if other.Id == in.Id {
			return
		}
	}
	m.used = append(m.used, in)
	if expires := in.GetCalibrationExpireTime(); expires != nil && expires.GetSeconds() < at {
		r.slip(SlipCalibration)
	}
	if e.f.tool.drift != 0 {
		r.truth.DriftingSerial = in.GetSerialNumber()
	}
	if e.f.tool.twice {
		r.truth.SharedSerial = in.GetSerialNumber()
	}
}

// result writes what was seen.
func (m *maker) result(p *page, e *entry) {
	r := &m.draft
	if e.blank {
		return
	}
	switch e.t.kind {
	case isChosen:
		p.reading.Result = e.choice
	case isInspected:
		p.reading.Result = passed
		if e.failed {
			p.reading.Result = notPassed
		}
	case isIdentified:
		own := mix(hash(r.family.id)^uint64(r.unit)) ^ e.t.name
		p.reading.Result = &pb.Reading_Text{Text: e.t.text.write(own)}
	default:
		p.value.Value = e.value
		if e.t.fitted != nil && !e.unsaid {
			p.reading.Fitted = e.t.fitted
		}
	}
}

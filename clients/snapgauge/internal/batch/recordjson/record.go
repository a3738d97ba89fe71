package recordjson

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spelling"
)

var (
	phases          = spelling.Of(pb.Phase(0).Descriptor())
	stages          = spelling.Of(pb.Stage(0).Descriptor())
	conditions      = spelling.Of(pb.Condition(0).Descriptor())
	instrumentKinds = spelling.Of(pb.InstrumentKind(0).Descriptor())
	verdicts        = spelling.Of(pb.Verdict(0).Descriptor())
	findingCodes    = spelling.Of(pb.FindingCode(0).Descriptor())
)

func (d *decoder) record(m *pb.SetupRecord) bool {
	var seen uint32
	return d.object(func(name string) bool {
		switch name {
		case "unit":
			return d.once(&seen, 1) && message(d, &m.Unit, d.unit)
		case "phase":
			return d.once(&seen, 2) && enum(d, phases, &m.Phase)
		case "shop":
			return d.once(&seen, 3) && d.string(&m.Shop)
		case "technician":
			return d.once(&seen, 4) && d.string(&m.Technician)
		case "start_time", "startTime":
			return d.once(&seen, 5) && d.time(&m.StartTime)
		case "finish_time", "finishTime":
			return d.once(&seen, 6) && d.time(&m.FinishTime)
		case "options":
			return d.once(&seen, 7) && d.strings(&m.Options)
		case "conditions":
			return d.once(&seen, 8) && enums(d, conditions, &m.Conditions)
		case "instruments":
			return d.once(&seen, 9) && messages(d, &m.Instruments, d.instrument)
		case "readings":
			return d.once(&seen, 10) && (d.null() || d.list(func() bool {
				r := d.readings.next()
				m.Readings = append(m.Readings, r)
				return d.reading(r)
			}))
		case "supersedes":
			return d.once(&seen, 11) && d.string(&m.Supersedes)
		case "note":
			return d.once(&seen, 12) && d.string(&m.Note)
		case "expectation":
			return d.once(&seen, 13) && message(d, &m.Expectation, d.expectation)
		}
		return d.unknown(name, m.ProtoReflect().Descriptor())
	})
}

func (d *decoder) unit(m *pb.Unit) bool {
	var seen uint32
	return d.object(func(name string) bool {
		switch name {
		case "vin":
			return d.once(&seen, 1) && d.string(&m.Vin)
		case "model":
			return d.once(&seen, 2) && d.string(&m.Model)
		case "model_year", "modelYear":
			return d.once(&seen, 3) && (d.null() || d.int32(&m.ModelYear))
		case "market":
			return d.once(&seen, 4) && d.string(&m.Market)
		case "hours":
			return d.once(&seen, 5) && d.optionalDouble(&m.Hours)
		case "odometer_km", "odometerKm":
			return d.once(&seen, 6) && d.optionalDouble(&m.OdometerKm)
		}
		return d.unknown(name, m.ProtoReflect().Descriptor())
	})
}

func (d *decoder) instrument(m *pb.Instrument) bool {
	var seen uint32
	accuracy := func(number uint) bool {
		return d.once(&seen, number) && (d.peek() == 'n' || m.Accuracy == nil ||
			d.fail(d.at, "is given beside another accuracy; only one of them may be"))
	}
	return d.object(func(name string) bool {
		switch name {
		case "id":
			return d.once(&seen, 1) && d.string(&m.Id)
		case "kind":
			return d.once(&seen, 2) && enum(d, instrumentKinds, &m.Kind)
		case "unit":
			return d.once(&seen, 3) && d.string(&m.Unit)
		case "expanded_uncertainty", "expandedUncertainty":
			if !accuracy(4) || d.null() {
				return d.message == ""
			}
			a := new(pb.Instrument_ExpandedUncertainty)
			m.Accuracy = a
			return d.double(&a.ExpandedUncertainty)
		case "max_permissible_error", "maxPermissibleError":
			if !accuracy(5) || d.null() {
				return d.message == ""
			}
			a := new(pb.Instrument_MaxPermissibleError)
			m.Accuracy = a
			return d.double(&a.MaxPermissibleError)
		case "max_deviation_percent", "maxDeviationPercent":
			if !accuracy(6) || d.null() {
				return d.message == ""
			}
			a := new(pb.Instrument_MaxDeviationPercent)
			m.Accuracy = a
			return d.double(&a.MaxDeviationPercent)
		case "resolution":
			return d.once(&seen, 7) && (d.null() || d.double(&m.Resolution))
		case "range":
			return d.once(&seen, 8) && message(d, &m.Range, d.interval)
		case "calibration_expire_time", "calibrationExpireTime":
			return d.once(&seen, 9) && d.time(&m.CalibrationExpireTime)
		case "serial_number", "serialNumber":
			return d.once(&seen, 10) && d.string(&m.SerialNumber)
		}
		return d.unknown(name, m.ProtoReflect().Descriptor())
	})
}

func (d *decoder) interval(m *pb.Interval) bool {
	var seen uint32
	return d.object(func(name string) bool {
		switch name {
		case "lower":
			return d.once(&seen, 1) && d.optionalDouble(&m.Lower)
		case "upper":
			return d.once(&seen, 2) && d.optionalDouble(&m.Upper)
		}
		return d.unknown(name, m.ProtoReflect().Descriptor())
	})
}

func (d *decoder) reading(m *pb.Reading) bool {
	var seen uint32
	result := func(number uint) bool {
		return d.once(&seen, number) && (d.peek() == 'n' || m.Result == nil ||
			d.fail(d.at, "is given beside another result; only one of value, pass, choice and text may be"))
	}
	return d.object(func(name string) bool {
		switch name {
		case "characteristic":
			return d.once(&seen, 1) && d.string(&m.Characteristic)
		case "stage":
			return d.once(&seen, 2) && enum(d, stages, &m.Stage)
		case "value":
			if !result(3) || d.null() {
				return d.message == ""
			}
			r := d.values.next()
			m.Result = r
			return d.double(&r.Value)
		case "pass":
			if !result(4) || d.null() {
				return d.message == ""
			}
			r := new(pb.Reading_Pass)
			m.Result = r
			return d.bool(&r.Pass)
		case "choice":
			if !result(5) || d.null() {
				return d.message == ""
			}
			r := new(pb.Reading_Choice)
			m.Result = r
			return d.string(&r.Choice)
		case "text":
			if !result(6) || d.null() {
				return d.message == ""
			}
			r := new(pb.Reading_Text)
			m.Result = r
			return d.string(&r.Text)
		case "unit":
			return d.once(&seen, 7) && d.string(&m.Unit)
		case "instrument":
			return d.once(&seen, 8) && d.string(&m.Instrument)
		case "time":
			return d.once(&seen, 9) && d.time(&m.Time)
		case "technician":
			return d.once(&seen, 10) && d.string(&m.Technician)
		case "conditions":
			return d.once(&seen, 11) && enums(d, conditions, &m.Conditions)
		case "expanded_uncertainty", "expandedUncertainty":
			return d.once(&seen, 12) && d.optionalDouble(&m.ExpandedUncertainty)
		case "fitted":
			return d.once(&seen, 13) && message(d, &m.Fitted, d.fitted)
		case "note":
			return d.once(&seen, 14) && d.string(&m.Note)
		}
		return d.unknown(name, m.ProtoReflect().Descriptor())
	})
}

func (d *decoder) fitted(m *pb.FittedFastener) bool {
	var seen uint32
	return d.object(func(name string) bool {
		switch name {
		case "thread":
			return d.once(&seen, 1) && d.string(&m.Thread)
		case "property_class", "propertyClass":
			return d.once(&seen, 2) && d.string(&m.PropertyClass)
		case "renewed":
			return d.once(&seen, 3) && d.optionalBool(&m.Renewed)
		case "locked":
			return d.once(&seen, 4) && d.optionalBool(&m.Locked)
		}
		return d.unknown(name, m.ProtoReflect().Descriptor())
	})
}

func (d *decoder) expectation(m *pb.Expectation) bool {
	var seen uint32
	return d.object(func(name string) bool {
		switch name {
		case "verdict":
			return d.once(&seen, 1) && enum(d, verdicts, &m.Verdict)
		case "codes":
			return d.once(&seen, 2) && enums(d, findingCodes, &m.Codes)
		}
		return d.unknown(name, m.ProtoReflect().Descriptor())
	})
}

// message reads a message within another.
func message[M any](d *decoder, to **M, read func(*M) bool) bool {
	if d.null() {
		return true
	}
	*to = new(M)
	return read(*to)
}

func messages[M any](d *decoder, to *[]*M, read func(*M) bool) bool {
	return d.null() || d.list(func() bool {
		m := new(M)
		*to = append(*to, m)
		return read(m)
	})
}

func enums[E ~int32](d *decoder, names *spelling.Names, to *[]E) bool {
	return d.null() || d.list(func() bool {
		var e E
		ok := enum(d, names, &e)
		*to = append(*to, e)
		return ok
	})
}

func (d *decoder) strings(to *[]string) bool {
	return d.null() || d.list(func() bool {
		var s string
		ok := d.string(&s)
		*to = append(*to, s)
		return ok
	})
}

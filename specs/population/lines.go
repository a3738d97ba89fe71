package population

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"
	"unicode/utf8"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Write writes the records as JSON Lines, each in the protobuf JSON format without
// blanks, and the truth beside them, line by line, unless truth is nil. The bytes
// depend on nothing but the configuration.
func (p *Population) Write(records, truth io.Writer) error {
	out := bufio.NewWriterSize(records, 1<<16)
	var beside *bufio.Writer
	if truth != nil {
		beside = bufio.NewWriterSize(truth, 1<<16)
	}
	var line []byte
	for rec, was := range p.Records() {
		line = append(appendRecord(line[:0], rec), '\n')
		if _, err := out.Write(line); err != nil {
			return fmt.Errorf("writing records: %w", err)
		}
		if beside == nil {
			continue
		}
		told, err := json.Marshal(was)
		if err != nil {
			return err
		}
		if _, err := beside.Write(append(told, '\n')); err != nil {
			return fmt.Errorf("writing the truth: %w", err)
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing records: %w", err)
	}
	if beside != nil {
		if err := beside.Flush(); err != nil {
			return fmt.Errorf("writing the truth: %w", err)
		}
	}
	return nil
}

// The encoder of protobuf varies its blanks from build to build, and takes several
// times as long as making the record does. So records are written here, of the
// fields that this package sets; a test holds that to the encoder of protobuf.

// object writes the members of an object.
type object struct{ b []byte }

// key begins a member.
func (o *object) key(name string) {
	if last := o.b[len(o.b)-1]; last != '{' && last != '[' {
		o.b = append(o.b, ',')
	}
	o.b = append(append(append(o.b, '"'), name...), '"', ':')
}

func (o *object) text(name, v string) {
	if v != "" {
		o.key(name)
		o.quote(v)
	}
}

func (o *object) number(name string, v float64) {
	o.key(name)
	o.float(v)
}

func (o *object) flag(name string, v bool) {
	o.key(name)
	o.b = strconv.AppendBool(o.b, v)
}

func (o *object) stamp(name string, t *timestamppb.Timestamp) {
	if t == nil {
		return
	}
	o.key(name)
	o.b = append(o.b, '"')
	o.b = time.Unix(t.Seconds, 0).UTC().AppendFormat(o.b, time.RFC3339)
	o.b = append(o.b, '"')
}

func (o *object) open(name string, bracket byte) {
	o.key(name)
	o.b = append(o.b, bracket)
}

// next parts what stands in a list.
func (o *object) next() {
	if o.b[len(o.b)-1] != '[' {
		o.b = append(o.b, ',')
	}
}

func (o *object) float(v float64) {
	if size := math.Abs(v); size != 0 && (size < 1e-6 || size >= 1e21) {
		o.b = strconv.AppendFloat(o.b, v, 'e', -1, 64)
		return
	}
	o.b = strconv.AppendFloat(o.b, v, 'f', -1, 64)
}

func (o *object) quote(s string) {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c == '"' || c == '\\' || c == 0x7f || c >= utf8.RuneSelf && !utf8.ValidString(s) {
			escaped, _ := json.Marshal(s) // a text can always be written
			o.b = append(o.b, escaped...)
			return
		}
	}
	o.b = append(append(append(o.b, '"'), s...), '"')
}

func (o *object) conditions(list []pb.Condition) {
	if len(list) == 0 {
		return
	}
	o.open("conditions", '[')
	for _, c := range list {
		o.next()
		o.quote(c.String())
	}
	o.b = append(o.b, ']')
}

func appendRecord(b []byte, rec *pb.SetupRecord) []byte {
	o := &object{append(b, '{')}
	u := rec.Unit
	o.open("unit", '{')
	o.text("vin", u.Vin)
	o.text("model", u.Model)
	o.number("modelYear", float64(u.ModelYear))
	o.text("market", u.Market)
	if u.Hours != nil {
		o.number("hours", *u.Hours)
	}
	if u.OdometerKm != nil {
		o.number("odometerKm", *u.OdometerKm)
	}
	o.b = append(o.b, '}')
	o.text("phase", rec.Phase.String())
	o.text("shop", rec.Shop)
	o.text("technician", rec.Technician)
	o.stamp("startTime", rec.StartTime)
	o.stamp("finishTime", rec.FinishTime)
	if len(rec.Options) > 0 {
		o.open("options", '[')
		for _, option := range rec.Options {
			o.next()
			o.quote(option)
		}
		o.b = append(o.b, ']')
	}
	o.conditions(rec.Conditions)
	if len(rec.Instruments) > 0 {
		o.open("instruments", '[')
		for _, in := range rec.Instruments {
			o.next()
			o.instrument(in)
		}
		o.b = append(o.b, ']')
	}
	if len(rec.Readings) > 0 {
		o.open("readings", '[')
		for _, r := range rec.Readings {
			o.next()
			o.reading(r)
		}
		o.b = append(o.b, ']')
	}
	o.text("note", rec.Note)
	return append(o.b, '}')
}

func (o *object) instrument(in *pb.Instrument) {
	o.b = append(o.b, '{')
	o.text("id", in.Id)
	o.text("kind", in.Kind.String())
	o.text("unit", in.Unit)
	switch a := in.Accuracy.(type) {
	case *pb.Instrument_MaxPermissibleError:
		o.number("maxPermissibleError", a.MaxPermissibleError)
	case *pb.Instrument_MaxDeviationPercent:
		o.number("maxDeviationPercent", a.MaxDeviationPercent)
	}
	if in.Resolution != 0 {
		o.number("resolution", in.Resolution)
	}
	if r := in.Range; r != nil {
		o.open("range", '{')
		if r.Lower != nil {
			o.number("lower", *r.Lower)
		}
		if r.Upper != nil {
			o.number("upper", *r.Upper)
		}
		o.b = append(o.b, '}')
	}
	o.stamp("calibrationExpireTime", in.CalibrationExpireTime)
	o.text("serialNumber", in.SerialNumber)
	o.b = append(o.b, '}')
}

func (o *object) reading(r *pb.Reading) {
	o.b = append(o.b, '{')
	o.text("characteristic", r.Characteristic)
	if r.Stage != pb.Stage_STAGE_UNSPECIFIED {
		o.text("stage", r.Stage.String())
	}
	switch v := r.Result.(type) {
	case *pb.Reading_Value:
		o.number("value", v.Value)
	case *pb.Reading_Pass:
		o.flag("pass", v.Pass)
	case *pb.Reading_Choice:
		o.key("choice")
		o.quote(v.Choice)
	case *pb.Reading_Text:
		o.key("text")
		o.quote(v.Text)
	}
	o.text("unit", r.Unit)
	o.text("instrument", r.Instrument)
	o.stamp("time", r.Time)
	o.conditions(r.Conditions)
	if f := r.Fitted; f != nil {
		o.open("fitted", '{')
		o.text("thread", f.Thread)
		o.text("propertyClass", f.PropertyClass)
		if f.Renewed != nil {
			o.flag("renewed", *f.Renewed)
		}
		if f.Locked != nil {
			o.flag("locked", *f.Locked)
		}
		o.b = append(o.b, '}')
	}
	o.b = append(o.b, '}')
}

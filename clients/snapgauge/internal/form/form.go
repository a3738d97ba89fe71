package form

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/yamltext"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Form says what record is to be filled in.
type Form struct {
	// Sheet the record will be judged by, with the options applied.
	Sheet *pb.SpecSheet
	// Phase of the work.
	Phase pb.Phase
	// Options fitted.
	Options []string
	// VIN of the unit; empty where it is to be filled in.
	VIN string
	// Units the technician reads in.
	Units quantity.System
	// Now is when work begins; it is written in its own time zone.
	Now time.Time
}

const commentWidth = 79

// YAML writes the form: the head, then one reading for each characteristic that
// the phase requires, in the order of the sheet.
func (f Form) YAML() string {
	w := &writer{}
	s := f.Sheet
	w.comment("", fmt.Sprintf("Set-up record to fill in: %s %s, %d, %s; %s; sheet revision %d.",
		s.GetMake(), s.GetModel(), s.GetModelYear(), s.GetMarket(), phrase.Phase(f.Phase), s.GetRevision()))
	w.comment("", "A reading left without a result counts as missing.")
	w.comment("", "When filled in: snapgauge check FILE")
	w.line("unit:")
	if f.VIN != "" {
		w.line("  vin: " + yamltext.Scalar(f.VIN))
	} else {
		w.line("  vin:  # 17 characters, as stamped on the frame")
	}
	w.line("  model: " + yamltext.Scalar(s.GetModel()))
	w.line("  model_year: %d", s.GetModelYear())
	w.line("  market: " + yamltext.Scalar(s.GetMarket()))
	w.line("  hours:  # running hours, where there is a counter")
	w.line("  odometer_km:")
	w.line("phase: " + strings.ToLower(phrase.Name(f.Phase)))
	w.line("shop:  # the shop's short name: small letters, digits, hyphens")
	w.line("technician:  # initials or staff number")
	now := f.Now.Format(time.RFC3339)
	w.line("start_time: " + now)
	w.line("finish_time: " + now + "  # put this right when the work is done")
	quoted := make([]string, len(f.Options))
	for i, option := range f.Options {
		quoted[i] = yamltext.Scalar(option)
	}
	w.line("options: [" + strings.Join(quoted, ", ") + "]")
	w.line("conditions: []  # those that hold for every reading, such as on_work_stand")
	w.comment("", "One entry for each instrument, such as:")
	w.comment("", "- {id: wrench-1, kind: torque_wrench, unit: N.m, max_deviation_percent: 4}")
	w.line("instruments: []")
	if !slices.ContainsFunc(s.GetCharacteristics(), f.asks) {
		w.comment("", "This phase requires no reading.")
		w.line("readings: []")
		return w.b.String()
	}
	w.line("readings:")
	first := true
	for _, c := range s.GetCharacteristics() {
		if !f.asks(c) {
			continue
		}
		if !first {
			w.line("")
		}
		first = false
		f.reading(w, c)
	}
	return w.b.String()
}

func (f Form) asks(c *pb.Characteristic) bool { return slices.Contains(c.GetRequiredIn(), f.Phase) }

func (f Form) reading(w *writer, c *pb.Characteristic) {
	const indent = "  "
	heading := c.GetDisplayName()
	if specified := render.Specified(c, f.Units); specified != "" {
		heading += ": " + specified
	}
	w.comment(indent, heading)
	if c.GetMethod() != "" {
		w.comment(indent, "method: "+c.GetMethod())
	}
	if c.GetCaution() != "" {
		w.comment(indent, "caution: "+c.GetCaution())
	}
	w.line("  - characteristic: " + yamltext.Scalar(c.GetId()))
	switch {
	case c.GetInspection() != nil:
		w.line("    pass:  # true or false")
	case c.GetChoice() != nil:
		w.line("    choice:")
	case c.GetIdentifier() != nil:
		w.line("    text:")
	default:
		w.line("    value:")
		if unit := render.ReadingUnit(c.GetLimits(), f.Units); unit != "" {
			w.line("    unit: " + yamltext.Scalar(unit))
		}
		if c.GetCount() == nil && c.GetAdjuster() == nil {
			w.line("    instrument:")
		}
	}
	w.line("    time:")
	if conditions := c.GetReferenceConditions(); len(conditions) > 0 {
		names := make([]string, len(conditions))
		for i, condition := range conditions {
			names[i] = strings.ToLower(phrase.Name(condition))
		}
		w.line("    conditions: []  # specified with " + strings.Join(names, ", "))
	}
	fastener := c.GetFastener()
	if !fastener.GetRenew() && fastener.GetLocking() == pb.Locking_LOCKING_UNSPECIFIED {
		return
	}
	w.line("    fitted:")
	if fastener.GetRenew() {
		w.line("      renewed:  # true when new")
	}
	if fastener.GetLocking() != pb.Locking_LOCKING_UNSPECIFIED {
		w.line("      locked:  # true when locked: " + layout.Clean(phrase.Locking(fastener.GetLocking())))
	}
}

type writer struct{ b strings.Builder }

func (w *writer) line(format string, args ...any) {
	if len(args) > 0 {
		format = fmt.Sprintf(format, args...)
	}
	w.b.WriteString(format + "\n")
}

// comment writes a text as comment lines; further lines are set in.
func (w *writer) comment(indent, text string) {
	prefix := indent + "# "
	for _, line := range layout.Wrap(text, commentWidth-len(prefix)) {
		w.b.WriteString(prefix + line + "\n")
		prefix = indent + "#   "
	}
}

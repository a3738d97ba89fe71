package columns

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/yamltext"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Template is a column map to begin with: for a table that has the readings of
// one model.
type Template struct {
	// Sheet has the characteristics, and those of the options that may be fitted.
	Sheet *pb.SpecSheet
	// Phase whose required characteristics are taken; unspecified means all.
	Phase pb.Phase
	// Units that the table is in.
	Units quantity.System
	// Readings makes a table in which a row is a reading, not a record.
	Readings bool
	// Optional makes columns for what may be left out: readings as found,
	// instruments, times. Without it they stand in comments.
	Optional bool
}

// Write writes the map.
func (t Template) Write(w io.Writer) error {
	_, err := io.WriteString(w, t.yaml())
	return err
}

// WriteHeader writes the first row of a CSV file that the map fits.
func (t Template) WriteHeader(w io.Writer) error {
	m, err := Parse([]byte(t.yaml()), "template")
	if err != nil {
		return err // the sheet has what no map can say, such as an unknown unit
	}
	rows := csv.NewWriter(w)
	_ = rows.Write(m.names) // the error is told by Error
	rows.Flush()
	return rows.Error()
}

const commentWidth = 79

// lines writes a map line by line.
type lines struct{ strings.Builder }

func (l *lines) add(format string, args ...any) {
	if len(args) > 0 {
		format = fmt.Sprintf(format, args...)
	}
	l.WriteString(format + "\n")
}

// optional adds a line as a comment, unless it is wanted.
func (l *lines) optional(wanted bool, indent, format string, args ...any) {
	if !wanted {
		indent += "#"
	}
	l.add("%s%s", indent, fmt.Sprintf(format, args...))
}

func (l *lines) comment(indent, text string) {
	prefix := indent + "# "
	for _, line := range layout.Wrap(text, commentWidth-len(indent)-len("#   ")) {
		l.WriteString(prefix + line + "\n")
		prefix = indent + "#   "
	}
}

func (t Template) yaml() string {
	l := &lines{}
	s := t.Sheet
	l.comment("", fmt.Sprintf("Column map for %s %s, %d, %s: where in a table the fields of set-up records are.",
		s.GetMake(), s.GetModel(), s.GetModelYear(), s.GetMarket()))
	l.comment("", "It is a set-up record in which {column: NAME} stands for what is in the table, by the name in its first row; "+
		"all else holds for every record. Put in your own names, and take out what your table does not have.")
	l.add("table:")
	if t.Readings {
		l.add("  rows: readings  # a row is a reading; rows that follow one another with the same")
		l.add("  key: [job]      # key are one record")
	} else {
		l.add("  rows: records   # a row is a record")
	}
	l.add("  decimal: point  # or comma")
	l.add("  #time_zone: Europe/Vienna  # of times without an offset")
	l.add("  #time_layout: DD.MM.YYYY hh:mm")
	l.add("words:            # what words of the table mean, such as")
	l.add("  ok: true")
	l.add("  not ok: false")
	l.add("record:")
	l.add("  unit:")
	l.add("    vin: {column: vin}")
	l.add("    model: %s", yamltext.Scalar(s.GetModel()))
	l.add("    model_year: %d", s.GetModelYear())
	l.add("    market: %s", yamltext.Scalar(s.GetMarket()))
	l.optional(t.Optional, "    ", "hours: {column: hours}")
	l.optional(t.Optional, "    ", "odometer_km: {column: odometer_km}")
	l.add("  phase: {column: phase}  # pre_delivery, handover, first_service, service")
	l.add("  shop: {column: shop}    # or the shop's short name: small letters, digits, hyphens")
	l.add("  technician: {column: technician}")
	l.optional(t.Optional, "  ", "start_time: {column: start_time}")
	l.add("  finish_time: {column: finish_time}")
	l.optional(t.Optional, "  ", "options: {column: options}  # in one cell, between blanks or commas")
	l.add("  conditions: []  # those that hold for every reading, such as on_work_stand")
	l.comment("  ", "The shop's instruments, such as:")
	l.add("  # - {id: wrench-1, kind: torque_wrench, unit: N.m, max_deviation_percent: 4}")
	l.add("  instruments: []")
	l.add("  readings:")
	if t.Readings {
		t.long(l)
	} else {
		for _, c := range t.characteristics() {
			t.wide(l, c)
		}
		// A record without the column options has none of these.
		for _, c := range t.fitted() {
			t.wide(l, c)
		}
	}
	return l.String()
}

// templated is a characteristic that has a place in the map.
type templated struct {
	*pb.Characteristic
	option string // with which it is wanted; empty where it always is
}

// wanted reports whether the map is to have a characteristic.
func (t Template) wanted(c *pb.Characteristic) bool {
	return t.Phase == pb.Phase_PHASE_UNSPECIFIED || slices.Contains(c.GetRequiredIn(), t.Phase)
}

func (t Template) characteristics() []templated {
	var result []templated
	for _, c := range t.Sheet.GetCharacteristics() {
		if t.wanted(c) {
			result = append(result, templated{c, ""})
		}
	}
	return result
}

// fitted are the characteristics that are wanted with an option only.
func (t Template) fitted() []templated {
	var result []templated
	seen := make(map[string]bool)
	others := make(map[string]*pb.Characteristic) // those of the sheet that are not wanted without one
	for _, c := range t.Sheet.GetCharacteristics() {
		seen[c.GetId()] = true
		if !t.wanted(c) {
			others[c.GetId()] = c
		}
	}
	for _, o := range t.Sheet.GetOptions() {
		for _, c := range o.GetAmendment().GetAdd() {
			if t.wanted(c) && !seen[c.GetId()] {
				result = append(result, templated{c, o.GetId()})
				seen[c.GetId()] = true
			}
		}
		for _, change := range o.GetAmendment().GetOverride() {
			if c := others[change.GetId()]; c != nil && slices.Contains(change.GetRequiredIn(), t.Phase) {
				result = append(result, templated{c, o.GetId()})
				delete(others, change.GetId())
			}
		}
	}
	return result
}

// result is the field that readings of a characteristic have, and their unit.
func (t Template) result(c templated) (field, unit string) {
	switch {
	case c.GetInspection() != nil:
		return "pass", ""
	case c.GetChoice() != nil:
		return "choice", ""
	case c.GetIdentifier() != nil:
		return "text", ""
	}
	return "value", render.ReadingUnit(c.GetLimits(), t.Units)
}

// wide writes the entries of one characteristic for a table in which a row is a
// record.
func (t Template) wide(l *lines, c templated) {
	field, unit := t.result(c)
	heading := c.GetDisplayName()
	if c.option != "" {
		heading += ", with " + c.option
	}
	if specified := render.Specified(c.Characteristic, t.Units); specified != "" {
		heading += ": " + specified
	}
	always := t.Optional || c.option == ""
	l.comment("  ", heading)
	if accepted := c.GetChoice().GetAccepted(); len(accepted) > 0 {
		l.comment("  ", "accepted: "+phrase.AnyQuoted(accepted))
	}
	in := func(what string) string {
		name := c.GetId() + what
		if unit != "" && !strings.HasSuffix(what, "instrument") && !strings.HasSuffix(what, "time") {
			name += " (" + unit + ")"
		}
		return yamltext.Scalar(name)
	}
	// In the order of a row, what was found comes before what was left.
	l.optional(t.Optional, "  ", "- characteristic: %s", yamltext.Scalar(c.GetId()))
	l.optional(t.Optional, "  ", "  stage: as_found")
	l.optional(t.Optional, "  ", "  %s: {column: %s}", field, in(" as found"))
	if unit != "" {
		l.optional(t.Optional, "  ", "  unit: %s", yamltext.Scalar(unit))
	}
	l.optional(always, "  ", "- characteristic: %s", yamltext.Scalar(c.GetId()))
	l.optional(always, "  ", "  stage: as_left")
	l.optional(always, "  ", "  %s: {column: %s}", field, in(""))
	if unit != "" {
		l.optional(always, "  ", "  unit: %s", yamltext.Scalar(unit))
	}
	if specified := c.GetReferenceConditions(); len(specified) > 0 {
		// Whether it was read so the table does not say, so whoever knows must.
		l.add("    #conditions: [%s]  # as specified; for shops that always read it so", conditionNames(specified))
	}
	if field == "value" && c.GetCount() == nil && c.GetAdjuster() == nil {
		l.optional(t.Optional, "    ", "instrument: {column: %s}", in(" instrument"))
	}
	l.optional(t.Optional, "    ", "time: {column: %s}", in(" time"))
	fastener := c.GetFastener()
	if !fastener.GetRenew() && fastener.GetLocking() == pb.Locking_LOCKING_UNSPECIFIED {
		return
	}
	l.optional(t.Optional, "    ", "fitted:")
	if fastener.GetRenew() {
		l.optional(t.Optional, "    ", "  renewed: {column: %s}", yamltext.Scalar(c.GetId()+" renewed"))
	}
	if fastener.GetLocking() != pb.Locking_LOCKING_UNSPECIFIED {
		l.optional(t.Optional, "    ", "  locked: {column: %s}", yamltext.Scalar(c.GetId()+" locked"))
	}
}

// long writes the entries for a table in which a row is a reading: one for each
// kind of result, the numbers being what is left.
func (t Template) long(l *lines) {
	ids := make(map[string][]string)
	for _, c := range append(t.characteristics(), t.fitted()...) {
		field, _ := t.result(c)
		ids[field] = append(ids[field], c.GetId())
	}
	for _, field := range []string{"pass", "choice", "text", "value"} {
		if field != "value" && len(ids[field]) == 0 {
			continue
		}
		l.add("  - characteristic: {column: characteristic}")
		if field != "value" {
			l.add("    only:")
			for i, line := range layout.Wrap(strings.Join(ids[field], ", ")+"]", commentWidth-len("      [")) {
				l.add("      %s%s", []string{"[", " "}[min(i, 1)], line)
			}
		}
		l.optional(t.Optional, "    ", "stage: {column: stage}  # as_found or as_left")
		l.add("    %s: {column: result}", field)
		if field == "value" {
			l.add("    unit: {column: unit}")
			l.optional(t.Optional, "    ", "instrument: {column: instrument}")
			l.optional(t.Optional, "    ", "fitted: {renewed: {column: renewed}, locked: {column: locked}}")
		}
		l.optional(t.Optional, "    ", "conditions: {column: conditions}  # in which it was read, in one cell")
		l.optional(t.Optional, "    ", "time: {column: time}")
	}
}

// conditionNames are conditions as a record has them.
func conditionNames(conditions []pb.Condition) string {
	names := make([]string, len(conditions))
	for i, condition := range conditions {
		names[i] = strings.ToLower(phrase.Name(condition))
	}
	return strings.Join(names, ", ")
}

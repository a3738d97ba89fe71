package render

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// Options say for whom to write.
type Options struct {
	// Width of the terminal in cells.
	Width int
	// Ink colours, or does not.
	Ink layout.Ink
	// Units the reader is used to.
	Units quantity.System
}

func (o Options) page() *layout.Page { return &layout.Page{Width: o.Width, Ink: o.Ink} }

// Judged is a record with its report.
type Judged struct {
	Record *pb.SetupRecord
	Report *pb.Report
	// Origin says where the record is from: a file, a stored set-up.
	Origin string
	// Where says in words where in the file a field path is, "line 7"; empty
	// where it is not there. May be nil.
	Where func(fieldPath string) string
	// Full writes the outcome of every characteristic, where the report has
	// them, and every missing reading at length.
	Full bool
}

// margin is where the text of a finding begins: behind the longest severity.
const margin = len("FUNCTION") + 2

// Report writes a report: the verdict, then what was found, then the count.
func Report(j Judged, o Options) string {
	p := o.page()
	header(p, j)
	hinted := false
	for i, findings := 0, j.Report.GetFindings(); i < len(findings); {
		severity := findings[i].GetSeverity()
		var missing []*pb.Finding
		for ; i < len(findings) && findings[i].GetSeverity() == severity; i++ {
			if findings[i].GetCode() == pb.FindingCode_FINDING_CODE_MISSING_READING && !j.Full {
				missing = append(missing, findings[i])
				continue
			}
			finding(p, findings[i], j, o)
		}
		if len(missing) <= 2 {
			for _, f := range missing {
				finding(p, f, j, o)
			}
			continue
		}
		missingReadings(p, missing, !hinted, o)
		hinted = true
	}
	if j.Full {
		outcomes(p, j.Report.GetOutcomes(), o)
	}
	p.Blank()
	p.Text(0, "", tally(j.Report))
	return p.String()
}

// header says the verdict and which machine it is of.
func header(p *layout.Page, j Judged) {
	verdict := phrase.Name(j.Report.GetVerdict())
	indent := max(margin, len(verdict)+2)
	unit := j.Record.GetUnit()
	phase := ""
	if j.Record.GetPhase() != pb.Phase_PHASE_UNSPECIFIED {
		phase = phrase.Phase(j.Record.GetPhase())
	}
	first := join(", ", machine(unit.GetModel(), unit.GetModelYear(), unit.GetMarket()), phase, revision(j.Report.GetSpecRevision()))
	p.Hang(0, verdict, indent, verdictStyle(j.Report.GetVerdict()), first, "")
	second := join(", ", "VIN "+unit.GetVin(), j.Origin)
	p.Text(indent, layout.Dim, second)
	if bulletins := j.Report.GetBulletins(); len(bulletins) > 0 {
		p.Text(indent, layout.Dim, "with bulletin "+strings.Join(bulletins, ", "))
	}
	if why := j.Report.GetWhy(); why != "" {
		p.Text(indent, layout.Dim, why)
	}
	for _, notice := range j.Report.GetNotices() {
		p.Note(indent, "notice:", layout.Bold, notice)
	}
}

func machine(model string, year int32, market string) string {
	y := ""
	if year != 0 {
		y = strconv.Itoa(int(year))
	}
	return join(" ", model, y, market)
}

func revision(name string) string {
	if n := revisionNumber(name); n != "" {
		return "sheet revision " + n
	}
	return ""
}

// finding writes one finding: what, by how much, what to do, beware, whence.
func finding(p *layout.Page, f *pb.Finding, j Judged, o Options) {
	p.Blank()
	heading(p, f.GetSeverity(), findingName(f), phrase.Name(f.GetCode()))
	figures := figures(f, o.Units)
	if figures != "" {
		p.Text(margin, "", figures)
	}
	if figures == "" || !figuresSayAll(f.GetCode()) {
		p.Text(margin, "", f.GetMessage())
	}
	if do := f.GetRemedy().GetText(); do != "" {
		p.Note(margin, "do:", layout.Bold, do)
	}
	if f.GetCaution() != "" {
		p.Note(margin, "caution:", layout.Bold, f.GetCaution())
	}
	where := ""
	if j.Where != nil {
		where = j.Where(f.GetFieldPath())
	}
	if source := join("; ", f.GetSource(), where); source != "" {
		p.Text(margin, layout.Dim, source)
	}
}

// heading writes the severity, the name and, at the right end, the code.
func heading(p *layout.Page, s pb.Severity, name, code string) {
	severity := phrase.Name(s)
	lead := p.Ink.Write(severityStyle(s), severity) + strings.Repeat(" ", max(margin-len(severity), 1))
	titled(p, lead, margin, name, code)
}

// titled writes a name behind a lead of so many cells, wrapped below itself, and
// at the right end of its last line what belongs to it.
func titled(p *layout.Page, lead string, indent int, name, right string) {
	lines := layout.Wrap(name, p.Width-indent)
	for _, line := range lines[:len(lines)-1] {
		p.Line(lead + p.Ink.Write(layout.Bold, line))
		lead = strings.Repeat(" ", indent)
	}
	last := lead + p.Ink.Write(layout.Bold, lines[len(lines)-1])
	if right == "" {
		p.Line(last)
		return
	}
	p.Split(last, indent, right)
}

// findingName is what a finding is about.
func findingName(f *pb.Finding) string {
	if f.GetDisplayName() != "" {
		return f.GetDisplayName()
	}
	return aboutRecord(f.GetFieldPath())
}

// aboutRecord names what a finding without a characteristic is about.
func aboutRecord(path string) string {
	switch {
	case path == "unit.vin":
		return "Vehicle identification number"
	case strings.HasPrefix(path, "options"):
		return "Options fitted"
	case strings.HasPrefix(path, "unit"):
		return "Machine"
	case strings.HasPrefix(path, "readings"):
		if _, id, ok := strings.Cut(path, `["`); ok {
			id, _, _ = strings.Cut(id, `"`)
			return "Reading " + id
		}
	}
	return "Record"
}

// figures says measured, limit and the distance between them, where the
// finding has them.
func figures(f *pb.Finding, system quantity.System) string {
	read := "measured "
	switch {
	case f.GetMeasured() == nil,
		// Its distance is not from the limit: it is what the travel lacks.
		f.GetCode() == pb.FindingCode_FINDING_CODE_ADJUSTER_OUT_OF_TRAVEL:
		return ""
	case f.GetCode() == pb.FindingCode_FINDING_CODE_WRONG_COUNT:
		read = "counted "
	}
	if f.GetLimit() == nil {
		return read + dual(f.GetMeasured(), system)
	}
	measured, limit := dualPair(f.GetMeasured(), f.GetLimit(), system)
	said := read + measured + ", limit " + limit
	if f.GetExcess() == nil {
		return said
	}
	v, u, unknown := pick(f.GetExcess(), system)
	by := join(" ", value(v, u, differenceDigits), unknown)
	above := f.GetMeasured().GetMetricValue() > f.GetLimit().GetMetricValue()
	switch {
	case f.GetCode() == pb.FindingCode_FINDING_CODE_UNDECIDED:
		said += ", " + by + " apart"
	case above:
		said += ", over by " + by
	default:
		said += ", under by " + by
	}
	return said
}

// figuresSayAll reports whether the message of a code repeats the figures and
// says no more.
func figuresSayAll(code pb.FindingCode) bool {
	switch code {
	case pb.FindingCode_FINDING_CODE_BELOW_LOWER_LIMIT,
		pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT,
		pb.FindingCode_FINDING_CODE_WRONG_COUNT:
		return true
	}
	return false
}

// missingReadings writes several missing readings of one severity as a list,
// and what to do about them if the reader has not been told yet.
func missingReadings(p *layout.Page, missing []*pb.Finding, hint bool, o Options) {
	p.Blank()
	heading(p, missing[0].GetSeverity(), fmt.Sprintf("%d readings are missing", len(missing)), phrase.Name(missing[0].GetCode()))
	const gap = 2
	column, values := 0, 0
	targets := make([]string, len(missing))
	for i, f := range missing {
		if t := f.GetRemedy().GetTarget(); t != nil {
			targets[i] = dual(t, o.Units)
			values = max(values, layout.Width(targets[i]))
			column = max(column, layout.Width(layout.Clean(f.GetDisplayName())))
		}
	}
	column = min(column, p.Width-margin-gap-values)
	for i, f := range missing {
		name, target := layout.Clean(f.GetDisplayName()), targets[i]
		if target == "" {
			p.Line(strings.Repeat(" ", margin) + layout.Shorten(name, p.Width-margin))
			continue
		}
		p.Line(strings.Repeat(" ", margin) + layout.Pad(layout.Shorten(name, column), column) + "  " + target)
	}
	if hint {
		p.Note(margin, "do:", layout.Bold, "Read each and write it down; --full says how.")
	}
}

// outcomes writes one line for each characteristic, in the order of the job.
func outcomes(p *layout.Page, all []*pb.Outcome, o Options) {
	if len(all) == 0 {
		return
	}
	const kindWidth = len("not applicable")
	nameWidth, valueWidth := 0, 0
	values := make([]string, len(all))
	for i, out := range all {
		nameWidth = max(nameWidth, layout.Width(layout.Clean(out.GetDisplayName())))
		values[i] = layout.Clean(out.GetResult())
		if out.GetMeasured() != nil {
			values[i] = dual(out.GetMeasured(), o.Units)
			if out.GetAsFound() != nil {
				values[i] += ", found " + dual(out.GetAsFound(), o.Units)
			}
		}
		valueWidth = max(valueWidth, layout.Width(values[i]))
	}
	valueWidth = min(valueWidth, (p.Width-kindWidth)/2)
	nameWidth = min(nameWidth, p.Width-kindWidth-valueWidth-4)
	p.Blank()
	for i, out := range all {
		kind := phrase.Words(out.GetKind())
		style := layout.Dim
		switch out.GetKind() {
		case pb.OutcomeKind_OUTCOME_KIND_CONFORMING:
			style = ""
		case pb.OutcomeKind_OUTCOME_KIND_NONCONFORMING:
			style = layout.Red
		case pb.OutcomeKind_OUTCOME_KIND_UNDECIDED, pb.OutcomeKind_OUTCOME_KIND_MISSING:
			style = layout.Yellow
		}
		name := layout.Shorten(layout.Clean(out.GetDisplayName()), nameWidth)
		if style != "" {
			kind = p.Ink.Write(style, kind)
		}
		p.Line(layout.Pad(kind, kindWidth) + "  " + layout.Pad(name, nameWidth) + "  " + layout.Shorten(values[i], valueWidth))
	}
}

// tally counts outcomes in words.
func tally(r *pb.Report) string {
	t := r.GetTally()
	said := fmt.Sprintf("%d conforming", t.GetConforming())
	for _, part := range []struct {
		n    int32
		word string
	}{
		{t.GetNonconforming(), "nonconforming"},
		{t.GetUndecided(), "undecided"},
		{t.GetMissing(), "missing"},
		{t.GetNotApplicable(), "not applicable"},
	} {
		if part.n > 0 {
			said += fmt.Sprintf(", %d %s", part.n, part.word)
		}
	}
	return said
}

// Expectation says whether a report is what the author of the record expects,
// and in what it differs.
func Expectation(want *pb.Expectation, r *pb.Report, o Options) (met bool, text string) {
	got := make(map[pb.FindingCode]bool)
	var codes []pb.FindingCode // in the order of the report, each once
	for _, f := range r.GetFindings() {
		if !got[f.GetCode()] {
			got[f.GetCode()] = true
			codes = append(codes, f.GetCode())
		}
	}
	var differ []string
	if want.GetVerdict() != r.GetVerdict() {
		differ = append(differ, fmt.Sprintf("wanted %s, got %s", phrase.Name(want.GetVerdict()), phrase.Name(r.GetVerdict())))
	}
	wanted := make(map[pb.FindingCode]bool)
	var lacking, extra []string
	for _, code := range want.GetCodes() {
		wanted[code] = true
		if !got[code] {
			lacking = append(lacking, phrase.Name(code))
		}
	}
	for _, code := range codes {
		if !wanted[code] {
			extra = append(extra, phrase.Name(code))
		}
	}
	if len(lacking) > 0 {
		differ = append(differ, "did not get "+strings.Join(lacking, ", "))
	}
	if len(extra) > 0 {
		differ = append(differ, "got as well "+strings.Join(extra, ", "))
	}
	p := o.page()
	if len(differ) == 0 {
		p.Text(0, "", "as expected")
		return true, p.String()
	}
	p.Note(0, "not as expected:", layout.Red, strings.Join(differ, "; "))
	return false, p.String()
}

package batch

import (
	"encoding/csv"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// csvColumns are the columns of results, in the order of [flatResult].
var csvColumns = []string{"place", "record", "index", "setup", "vin", "model", "shop", "technician", "phase", "finish_time",
	"spec_revision", "verdict", "verdict_then", "conforming", "nonconforming", "undecided", "missing", "codes",
	"worst_severity", "first_finding", "signs", "because", "error_reason", "error"}

// csvSink writes each result as a row, after one with the names of the columns.
type csvSink struct {
	*packer
	rows  *csv.Writer
	cells []string
}

func newCSVSink(out *Output, packed packing) (Sink, error) {
	p, err := newPacker(out, packed)
	if err != nil {
		return nil, err
	}
	s := &csvSink{packer: p, rows: csv.NewWriter(p.Writer)}
	return s, s.rows.Write(csvColumns)
}

func (s *csvSink) Write(result *pb.AuditResult, place Place) error {
	f := flatten(result, place)
	finish := ""
	if f.FinishTime != nil {
		finish = f.FinishTime.Format(time.RFC3339Nano)
	}
	s.cells = append(s.cells[:0],
		harmless(&f.Place), strconv.FormatInt(f.Record, 10), strconv.FormatInt(f.Index, 10),
		harmless(f.Setup), harmless(f.VIN), harmless(f.Model), harmless(f.Shop), harmless(f.Technician), harmless(f.Phase), finish,
		harmless(f.SpecRevision), harmless(f.Verdict), harmless(f.VerdictThen),
		count(f.Conforming), count(f.Nonconforming), count(f.Undecided), count(f.Missing), harmless(f.Codes),
		harmless(f.WorstSeverity), harmless(f.FirstFinding), harmless(f.Signs), harmless(f.Because),
		harmless(f.ErrorReason), harmless(f.Error))
	if err := s.rows.Write(s.cells); err != nil {
		return s.fail(err)
	}
	return nil
}

func (s *csvSink) Close() error {
	s.rows.Flush()
	if err := s.rows.Error(); err != nil && !s.out.done {
		return s.out.finish(err)
	}
	return s.packer.Close()
}

func count(n *int32) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(int(*n))
}

// harmless is a text that no spreadsheet takes for a formula. A record may come
// from anywhere, and whoever opens the results trusts them: a text that begins
// like a formula, or with a sign that a spreadsheet leaves out before one, gets an
// apostrophe before it, which spreadsheets take for "this is text".
func harmless(s *string) string {
	if s == nil {
		return ""
	}
	if first, size := utf8.DecodeRuneInString(*s); size > 0 && strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + *s
	}
	return *s
}

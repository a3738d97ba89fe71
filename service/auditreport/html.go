package auditreport

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

//go:embed template/report.html
var reportHTML string

//go:embed template/report.css
var reportCSS string

var reportTemplate = template.Must(template.New("report").Parse(reportHTML))

// HTML writes the report of an audit as one HTML file. Whatever the summary
// lacks, the report says that it is not there. The error is that of the writer,
// or one of the template's own, which is not expected; nothing is written
// in that case.
func HTML(w io.Writer, summary *pb.AuditSummary) error {
	var out bytes.Buffer
	if err := reportTemplate.Execute(&out, reportOf(summary)); err != nil {
		return fmt.Errorf("auditreport: %w", err)
	}
	_, err := w.Write(bytes.Map(printable, out.Bytes()))
	return err
}

// printable drops what no page may hold, control characters, and what turns
// the order of the words around. Bytes that are not text become U+FFFD.
func printable(r rune) rune {
	switch {
	case r == '\n', r == '\t':
		return r
	case r < ' ', r >= 0x7f && r < 0xa0, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0xfffe, r == 0xffff:
		return -1
	}
	return r
}

// style is the style sheet, with the report's title at the foot of each page.
func style(title string) template.CSS {
	return template.CSS(strings.Replace(reportCSS, `"TITLE"`, cssString(shortened(title, 90)), 1))
}

// shortened cuts a text after so many characters.
func shortened(s string, most int) string {
	runes := []rune(s)
	if len(runes) <= most {
		return s
	}
	return strings.TrimSpace(string(runes[:most-1])) + "…"
}

// cssString writes a CSS string in which only letters, digits and spaces stand
// for themselves, so that nothing can end it or the style sheet.
func cssString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range strings.Map(printable, s) {
		switch {
		case r == ' ', r >= '0' && r <= '9', r >= 'A' && r <= 'Z', r >= 'a' && r <= 'z':
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\%x `, r) // the space ends the escape
		}
	}
	b.WriteByte('"')
	return b.String()
}

package auditreport

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/markup"
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
	_, err := w.Write(bytes.Map(markup.Printable, out.Bytes()))
	return err
}

// style is the style sheet, with the report's title at the foot of each page.
func style(title string) template.CSS {
	return template.CSS(strings.Replace(reportCSS, `"TITLE"`, markup.CSSString(shortened(title, 90)), 1))
}

// shortened cuts a text after so many characters.
func shortened(s string, most int) string {
	runes := []rune(s)
	if len(runes) <= most {
		return s
	}
	return strings.TrimSpace(string(runes[:most-1])) + "…"
}

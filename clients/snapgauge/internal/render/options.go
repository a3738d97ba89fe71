package render

import (
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// OptionCheck writes whether options go together: each reason against it by its
// smallest cause with the ways to mend it, then what follows from those fitted.
func OptionCheck(spec string, fitted []string, r *pb.CheckOptionsResponse, o Options) string {
	p := o.page()
	verdict, style := "they go together", layout.Green
	if n := len(r.GetTroubles()); n > 0 {
		verdict, style = "they do not go together: "+counted(n, "reason"), layout.Red
	}
	p.Text(0, style, verdict)
	p.Text(0, layout.Dim, join(" with ", spec, strings.Join(fitted, ", ")))
	for i, t := range r.GetTroubles() {
		p.Blank()
		trouble(p, i+1, t)
	}
	note := func(label, text string, style layout.Style) {
		if text != "" {
			p.Note(0, label, style, text)
		}
	}
	road, emissions := strings.Join(r.GetOffHighwayOptions(), ", "), strings.Join(r.GetEmissionsOptions(), ", ")
	if road != "" || emissions != "" || len(r.GetCautions()) > 0 {
		p.Blank()
	}
	note("off-highway only:", prefixed("with ", road), layout.Yellow)
	note("touches emissions or noise:", emissions, layout.Yellow)
	for _, c := range r.GetCautions() {
		note("caution:", c, layout.Bold)
	}
	return p.String()
}

// trouble writes one reason.
func trouble(p *layout.Page, n int, t *pb.OptionTrouble) {
	const indent = 3
	p.Hang(0, strconv.Itoa(n), indent, "", t.GetMessage(), layout.Bold)
	p.Note(indent, "cause:", layout.Dim, strings.Join(t.GetOptions(), ", "))
	for i, mend := range t.GetMends() {
		label := "do:"
		if i > 0 {
			label = "or:"
		}
		p.Note(indent, label, layout.Bold, mend.GetText())
		if mend.GetCaution() != "" {
			p.Note(2*indent, "caution:", layout.Bold, mend.GetCaution())
		}
	}
	if t.GetCaution() != "" {
		p.Note(indent, "caution:", layout.Bold, t.GetCaution())
	}
	if t.GetSource() != "" {
		p.Text(indent, layout.Dim, t.GetSource())
	}
}

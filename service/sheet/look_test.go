package sheet

import (
	"strings"
	"testing"

	"github.com/snapgauge/snapgauge/service/internal/pagetest"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// With -out, the sheets are written for people to look at.
func TestLook(t *testing.T) {
	if !pagetest.Keeping() {
		t.Skip("no -out")
	}
	write := func(name string, s *Sheet) {
		t.Helper()
		pagetest.Keep(t, name+".html", mustHTML(t, s))
		pagetest.Keep(t, name+".pdf", mustPDF(t, s))
	}
	fixtures := map[string]*fixture{
		"probe":    probe(t, quantity.Metric),
		"scree":    demo(t, demoRecords+"delivery-scree-2026.yaml", quantity.Metric),
		"overfull": demo(t, demoRecords+"oil-tank-overfilled.yaml", quantity.Metric),
		"causeway": demo(t, demoRecords+"delivery-causeway.yaml", quantity.USCustomary),
		"heron":    demo(t, demoRecords+"first-service-heron.yaml", quantity.Metric),
	}
	for name, f := range fixtures {
		for _, paper := range []Paper{A4, Letter} {
			opt := Options{Paper: paper, Made: made}
			suffix := "-" + strings.ToLower(paper.String())
			write(name+"-job"+suffix, f.job(opt))
			write(name+"-filled"+suffix, f.filled(opt))
			write(name+"-handover"+suffix, f.handover(opt))
		}
	}
}

package render

import (
	"fmt"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

// Example is a record that a sheet was tried with.
type Example struct {
	// Name of the file, and of the place in it.
	Name string
	// Faults, each with its place; none where the sheet judges the record as it
	// expects.
	Faults []string
}

// Examples writes which records a sheet judges as they expect.
func Examples(all []Example, o Options) string {
	const label = len("disagrees") + 2
	p := o.page()
	disagree := 0
	for _, e := range all {
		if len(e.Faults) == 0 {
			p.Hang(0, "agrees", label, layout.Green, e.Name, "")
			continue
		}
		disagree++
		p.Hang(0, "disagrees", label, layout.Red, e.Name, layout.Bold)
		for _, fault := range e.Faults {
			p.Text(label, "", fault)
		}
	}
	p.Blank()
	if disagree > 0 {
		p.Text(0, "", fmt.Sprintf("%d of %s judged otherwise than expected", disagree, counted(len(all), "record")))
		return p.String()
	}
	p.Text(0, "", counted(len(all), "record")+" judged as expected; nothing is wrong with the sheet")
	return p.String()
}

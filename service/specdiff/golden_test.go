package specdiff_test

import (
	"testing"

	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/internal/golden"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/specdiff"
	"github.com/snapgauge/snapgauge/specs"
)

func demoRevisions(t testing.TB) []*spec.Revision {
	t.Helper()
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		t.Fatal(err)
	}
	return revisions
}

func demoSheets(t testing.TB) *spec.Library {
	t.Helper()
	library, err := spec.NewLibrary(demoRevisions(t))
	if err != nil {
		t.Fatal(err)
	}
	return library
}

func demoSheet(t testing.TB, library *spec.Library, id string, number int) *spec.Revision {
	t.Helper()
	r, err := library.Revision(id, number)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The differences between demonstration sheets as a whole, so that no change of
// the wording goes unseen.
func TestGolden(t *testing.T) {
	const (
		scree25  = "varnholt-scree-200i-2025-eu"
		scree26  = "varnholt-scree-200i-2026-eu"
		heron25  = "brannick-heron-350f-2025-eu"
		heron26  = "brannick-heron-350f-2026-eu"
		gannet   = "brannick-gannet-300x-2026-eu"
		causeway = "ulverdale-causeway-400-2026-us"
		glade    = "kestwick-glade-e-2026-eu"
	)
	library := demoSheets(t)
	for name, test := range map[string]struct {
		base, target             string
		baseNumber, targetNumber int
		units                    quantity.System
	}{
		"scree_r1_r2":       {scree26, scree26, 1, 2, quantity.Metric},
		"scree_r2_r3":       {scree26, scree26, 2, 3, quantity.Metric},
		"scree_r3_r1_us":    {scree26, scree26, 3, 1, quantity.USCustomary},
		"scree_2025_2026":   {scree25, scree26, 1, 1, quantity.Metric},
		"causeway_r1_r2":    {causeway, causeway, 1, 2, quantity.Metric},
		"causeway_r1_r2_us": {causeway, causeway, 1, 2, quantity.USCustomary},
		"heron_2025_2026":   {heron25, heron26, 1, 1, quantity.Metric},
		"heron_r1_r2":       {heron26, heron26, 1, 2, quantity.Metric},
		"gannet_r1_r2":      {gannet, gannet, 1, 2, quantity.Metric},
		"glade_r1_r2":       {glade, glade, 1, 2, quantity.Metric},
	} {
		t.Run(name, func(t *testing.T) {
			diff := specdiff.Compare(
				demoSheet(t, library, test.base, test.baseNumber), demoSheet(t, library, test.target, test.targetNumber), test.units)
			got, err := document.Encode(diff)
			if err != nil {
				t.Fatal(err)
			}
			golden.Check(t, "testdata/"+name+".yaml", got)
		})
	}
}

func BenchmarkCompare(b *testing.B) {
	library := demoSheets(b)
	base := demoSheet(b, library, "varnholt-scree-200i-2025-eu", 1)
	for _, id := range []string{"varnholt-scree-200i-2026-eu", "kestwick-glade-e-2026-eu"} {
		b.Run(id, func(b *testing.B) {
			target := demoSheet(b, library, id, 1)
			for range b.N {
				specdiff.Compare(base, target, quantity.Metric)
			}
		})
	}
}

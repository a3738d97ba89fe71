package workshop

import (
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/snapgauge/snapgauge/service/internal/published"
)

// PublishedCheck is one comparison with a figure that somebody else published.
type PublishedCheck = published.Check

var publishedTable = published.Table{
	Room:  "service/workshop",
	Intro: "Each row is a test: it fails when |got − want| is above the tolerance, which follows from the digits that the source prints.",
	Columns: []published.Column{
		published.Function, published.Case,
		{Head: "want", Right: true, Cell: func(c PublishedCheck) string { return fmt.Sprintf("%.6g", c.Want) }},
		{Head: "got", Right: true, Cell: sixDigits},
		{Head: "tolerance", Right: true, Cell: func(c PublishedCheck) string { return fmt.Sprintf("%.3g", c.Tolerance) }},
		published.Unit, published.Source, published.Where, published.Memory,
	},
}

func check(t testing.TB, c PublishedCheck) {
	t.Helper()
	publishedTable.Check(t, c)
}

func TestMain(m *testing.M) { os.Exit(publishedTable.Main(m)) }

// sixDigits prints what was computed, no further than that: the last bits of a
// result differ between processors. A rounding remainder, all of whose digits do,
// is 0.
func sixDigits(c PublishedCheck) string {
	if c.Want == 0 && math.Abs(c.Got) < 1e-6 {
		return "0"
	}
	return fmt.Sprintf("%.6g", c.Got)
}

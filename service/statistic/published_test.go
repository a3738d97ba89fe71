package statistic

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/snapgauge/snapgauge/service/internal/published"
)

// PublishedCheck is one comparison with a figure that somebody else published.
type PublishedCheck = published.Check

var publishedTable = published.Table{
	Room: "service/statistic",
	Intro: "Each row is a test: it fails when expected and got agree in fewer digits (log relative error) than asked,\n" +
		"which follows from the digits that the source prints or that float64 data can hold. 15 is the most that is counted.",
	Columns: []published.Column{
		published.Function, published.Case, published.Source, published.Where,
		{Head: "expected", Right: true, Cell: func(c PublishedCheck) string { return fmt.Sprintf("%.15g", c.Want) }},
		{Head: "got", Right: true, Cell: func(c PublishedCheck) string {
			// No more digits of got than are asked, and two: the last bits of a
			// distribution function differ between processors.
			return fmt.Sprintf("%.*g", min(15, int(math.Ceil(digitsAsked(c)))+2), c.Got)
		}},
		{Head: "digits", Right: true, Cell: func(c PublishedCheck) string { return fmt.Sprintf("%.0f", math.Floor(digits(c.Got, c.Want))) }},
		{Head: "asked", Right: true, Cell: func(c PublishedCheck) string { return fmt.Sprintf("%.1f", digitsAsked(c)) }},
		published.Memory,
	},
}

func check(t testing.TB, c PublishedCheck) {
	t.Helper()
	t.Logf("%s, %s: %.1f digits", c.Function, c.Case, digits(c.Got, c.Want))
	publishedTable.Check(t, c)
}

func TestMain(m *testing.M) { os.Exit(publishedTable.Main(m)) }

// toDigits is the tolerance that asks for agreement in so many digits of want:
// a log relative error of at least that.
func toDigits(want, digits float64) float64 { return math.Abs(want) * math.Pow(10, -digits) }

// digitsAsked is what [toDigits] was given for a tolerance.
func digitsAsked(c PublishedCheck) float64 {
	if c.Tolerance > 0 {
		return min(15, -math.Log10(c.Tolerance/cmp.Or(math.Abs(c.Want), 1)))
	}
	return 15
}

// digits returns the log relative error of got, the number of digits in which it
// agrees with want: at most 15, the most that the certified values have.
func digits(got, want float64) float64 {
	off := math.Abs(got - want)
	if got == want { // infinities too
		return 15
	}
	if want != 0 {
		off /= math.Abs(want)
	}
	return min(15, max(0, -math.Log10(off)))
}

package formula

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// maxCoordinateMM is the largest coordinate that package workshop takes.
const maxCoordinateMM = 1e5

// tuples are rows of numbers: the points of an outline.
type tuples [][]float64

// readTuples reads rows of n numbers each, the numbers joined by commas and the
// rows by spaces, with a unit behind the last or without: "0,0 8,0 8,6 in". The
// numbers are returned in the unit to.
func readTuples(text string, n int, to quantity.Unit) (rows tuples, problem string) {
	text, name := cutUnit(text)
	from := to
	if name != "" {
		u, err := quantity.ParseUnit(name)
		if err != nil {
			return nil, err.Error()
		}
		from = u
	}
	for strings.Contains(text, ", ") {
		text = strings.ReplaceAll(text, ", ", ",")
	}
	for field := range strings.FieldsSeq(text) {
		parts := strings.Split(field, ",")
		if len(parts) != n {
			return nil, fmt.Sprintf("%.40q has %d numbers, want %d joined by commas", field, len(parts), n)
		}
		row := make([]float64, n)
		for i, part := range parts {
			q, problem := readQuantity(part)
			switch {
			case problem != "":
				return nil, problem
			case q.Unit != plainNumber:
				return nil, fmt.Sprintf("%.40q has a unit, want one for all behind the last number", field)
			}
			v, err := from.Convert(q.Value, to)
			if err != nil {
				return nil, fmt.Sprintf("is in %s, want %s", from, wanted(to))
			}
			if math.Abs(v) > maxCoordinateMM {
				return nil, fmt.Sprintf("%.40q is beyond %g %s", field, maxCoordinateMM, to)
			}
			row[i] = v
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		return nil, "has no numbers"
	}
	return rows, ""
}

// cutUnit cuts off what stands behind the last digit or fraction.
func cutUnit(text string) (numbers, unit string) {
	end := strings.LastIndexFunc(text, unicode.IsNumber)
	if end < 0 {
		return "", strings.TrimSpace(text)
	}
	_, size := utf8.DecodeRuneInString(text[end:])
	end += size
	return text[:end], strings.TrimSpace(text[end:])
}

// sayTuples writes rows of millimetres for readers of a system, as [readTuples]
// reads them.
func sayTuples(rows tuples, units quantity.System) string {
	largest := 0.0
	for _, row := range rows {
		for _, v := range row {
			largest = max(largest, math.Abs(v))
		}
	}
	to := millimetre.In(units, largest)
	return joinTuples(rows, millimetre, to) + " " + to.Symbol()
}

func joinTuples(rows tuples, from, to quantity.Unit) string {
	texts := make([]string, len(rows))
	for i, row := range rows {
		numbers := make([]string, len(row))
		for k, v := range row {
			shown, err := from.Convert(v, to)
			if err != nil {
				shown = v // In never changes the dimension
			}
			numbers[k] = quantity.Format(shown, plainNumber, exactDigits)
		}
		texts[i] = strings.Join(numbers, ",")
	}
	return strings.Join(texts, " ")
}

// readPoint reads a place: "x,y,z".
func readPoint(text string) (reading, string) {
	rows, problem := readTuples(text, 3, millimetre)
	if problem == "" && len(rows) != 1 {
		problem = fmt.Sprintf("is %d points, want one", len(rows))
	}
	if problem != "" {
		return reading{}, problem
	}
	return reading{
		value: workshop.Point{X: rows[0][0], Y: rows[0][1], Z: rows[0][2]},
		say:   func(s quantity.System) string { return sayTuples(rows, s) },
	}, ""
}

// readOutline reads the corners of a cross-section: "y,z y,z y,z".
func readOutline(text string) (reading, string) {
	rows, problem := readTuples(text, 2, millimetre)
	if problem != "" {
		return reading{}, problem
	}
	return reading{
		value: polygon(rows),
		say:   func(s quantity.System) string { return sayTuples(rows, s) },
	}, ""
}

func polygon(rows tuples) workshop.Polygon {
	p := make(workshop.Polygon, len(rows))
	for i, row := range rows {
		p[i] = workshop.YZ{Y: row[0], Z: row[1]}
	}
	return p
}

// readSections reads cross-sections along the machine, each with its place x
// before a colon and joined by semicolons: "0: 0,0 9,0 9,9 0,9; 30: 1,1 8,1 …".
// Everything is in one unit, which may stand behind the last.
func readSections(text string) (reading, string) {
	// The unit behind the last section holds for all of them.
	text, name := cutUnit(text)
	parts := strings.Split(text, ";")
	sections := make([]workshop.Slice, len(parts))
	places, outlines := make(tuples, len(parts)), make([]tuples, len(parts))
	for i, part := range parts {
		place, outline, ok := strings.Cut(part, ":")
		if !ok {
			return reading{}, fmt.Sprintf("section %d has no place, want such as 0: 0,0 90,0 90,60", i+1)
		}
		x, problem := readTuples(place+" "+name, 1, millimetre)
		if problem == "" && len(x) != 1 {
			problem = "has more than one place"
		}
		if problem == "" {
			outlines[i], problem = readTuples(outline+" "+name, 2, millimetre)
		}
		if problem != "" {
			return reading{}, fmt.Sprintf("section %d: %s", i+1, problem)
		}
		places[i] = x[0]
		sections[i] = workshop.Slice{XMM: x[0][0], Outline: polygon(outlines[i])}
	}
	return reading{value: sections, say: func(s quantity.System) string {
		to := millimetre.In(s, 1)
		texts := make([]string, len(parts))
		for i := range parts {
			texts[i] = joinTuples(places[i:i+1], millimetre, to) + ": " + joinTuples(outlines[i], millimetre, to)
		}
		return strings.Join(texts, "; ") + " " + to.Symbol()
	}}, ""
}

// readAttitudes reads ways of standing, each as lean and pitch in degrees:
// "0,0 12,0 12,-5".
func readAttitudes(text string) (reading, string) {
	rows, problem := readTuples(text, 2, degrees)
	if problem != "" {
		return reading{}, problem
	}
	all := make([]workshop.Attitude, len(rows))
	for i, row := range rows {
		all[i] = workshop.Attitude{LeanDeg: row[0], PitchDeg: row[1]}
	}
	if len(all) > maxItems {
		return reading{}, fmt.Sprintf("is %d attitudes, want at most %d", len(all), maxItems)
	}
	return same(all, joinTuples(rows, degrees, degrees)+" "+degrees.Symbol()), ""
}

func sayAttitude(a workshop.Attitude) string {
	say := func(v float64) string { return quantity.Format(v, degrees, usualDigits) }
	if a == (workshop.Attitude{}) {
		return "upright and level"
	}
	return "lean " + say(a.LeanDeg) + ", pitch " + say(a.PitchDeg)
}

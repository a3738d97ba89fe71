package statistic

import (
	"bufio"
	"math/big"
	"os"
	"strconv"
	"strings"
	"testing"
)

const strd = "NIST StRD"

// dataset is a file of testdata/strd.
type dataset struct {
	header []string    // the lines before the data
	rows   [][]float64 // the data, column by column
}

func loadDataset(t testing.TB, name string) dataset {
	t.Helper()
	file, err := os.Open("testdata/strd/" + name + ".dat")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var lines []string
	data := 0 // the last line that starts with "Data:" heads the data
	for scan := bufio.NewScanner(file); scan.Scan(); {
		if lines = append(lines, scan.Text()); strings.HasPrefix(scan.Text(), "Data:") {
			data = len(lines)
		}
	}
	set := dataset{header: lines[:data]}
	for _, line := range lines[data:] {
		var row []float64
		for field := range strings.FieldsSeq(line) {
			v, err := strconv.ParseFloat(field, 64)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			row = append(row, v)
		}
		if len(row) > 0 {
			set.rows = append(set.rows, row)
		}
	}
	if len(set.rows) == 0 {
		t.Fatalf("%s has no data", name)
	}
	return set
}

// certified returns the number at a place (from 0) after the words that a line of
// the header starts with.
func (s dataset) certified(t testing.TB, words string, place int) float64 {
	t.Helper()
	for _, line := range s.header {
		if rest, ok := strings.CutPrefix(strings.TrimSpace(line), words); ok {
			fields := strings.Fields(rest)
			if place >= len(fields) {
				continue // a heading
			}
			if v, err := strconv.ParseFloat(fields[place], 64); err == nil {
				return v
			}
		}
	}
	t.Fatalf("no certified value %q", words)
	return 0
}

// groups returns the moments of the second column by the first, which counts from 1.
func (s dataset) groups() []Moments {
	var groups []Moments
	for _, row := range s.rows {
		for int(row[0]) > len(groups) {
			groups = append(groups, Moments{})
		}
		groups[int(row[0])-1].Add(row[1])
	}
	return groups
}

// exactMoments returns the mean and standard deviation of values in rational
// arithmetic: what a perfect program gets from the same float64 values.
func exactMoments(values []float64) (mean, sd float64) {
	sum, squares := new(big.Rat), new(big.Rat)
	for _, v := range values {
		r := new(big.Rat).SetFloat64(v)
		sum.Add(sum, r)
		squares.Add(squares, r.Mul(r, r))
	}
	n := new(big.Rat).SetInt64(int64(len(values)))
	m := new(big.Rat).Quo(sum, n)
	squares.Sub(squares, new(big.Rat).Mul(sum, m))
	squares.Quo(squares, new(big.Rat).SetInt64(int64(len(values)-1)))
	root := new(big.Float).SetPrec(200).SetRat(squares)
	root.Sqrt(root)
	mean, _ = m.Float64()
	sd, _ = root.Float64()
	return mean, sd
}

// TestUnivariate asks of the mean and the standard deviation the digits that the
// data hold once they are float64: 10000000.1 is not one, and the standard
// deviation of NumAcc4 as rounded agrees with the certified one in 8 digits. The
// second pair of rows shows that no digits are lost beyond that.
func TestUnivariate(t *testing.T) {
	for _, c := range []struct {
		name             string
		meanDigits, digs float64
	}{
		{"PiDigits", 14.5, 14.5},
		{"Lottery", 14.5, 14.5},
		{"Lew", 14.5, 14.5},
		{"Mavro", 14.5, 12.5},
		{"Michelso", 14.5, 13.5},
		{"NumAcc1", 15, 15},
		{"NumAcc2", 14.5, 14},
		{"NumAcc3", 14.5, 9},
		{"NumAcc4", 14.5, 8},
	} {
		set := loadDataset(t, c.name)
		var m Moments
		var values []float64
		for _, row := range set.rows {
			m.Add(row[0])
			values = append(values, row[0])
		}
		if want := int64(set.certified(t, "Number of Observations:", 0)); m.N != want {
			t.Errorf("%s: got %d values, want %d", c.name, m.N, want)
		}
		mean := set.certified(t, "Sample Mean:", 0)
		sd := set.certified(t, "Sample Standard Deviation:", 0)
		check(t, PublishedCheck{Function: "Moments.Add", Case: c.name + ", mean", Source: strd, Where: "univariate summary statistics",
			Want: mean, Got: m.Mean, Tolerance: toDigits(mean, c.meanDigits)})
		check(t, PublishedCheck{Function: "Moments.StdDev", Case: c.name, Source: strd, Where: "univariate summary statistics",
			Want: sd, Got: m.StdDev(), Tolerance: toDigits(sd, c.digs)})
		check(t, PublishedCheck{Function: "Moments.Variance", Case: c.name, Source: strd, Where: "univariate summary statistics, squared",
			Want: sd * sd, Got: m.Variance(), Tolerance: toDigits(sd*sd, c.digs-0.5)})
		exactMean, exactSD := exactMoments(values)
		check(t, PublishedCheck{Function: "Moments.Add", Case: c.name + " as float64, mean", Source: "closed form", Where: "rational arithmetic",
			Want: exactMean, Got: m.Mean, Tolerance: toDigits(exactMean, 15)})
		check(t, PublishedCheck{Function: "Moments.StdDev", Case: c.name + " as float64", Source: "closed form", Where: "rational arithmetic",
			Want: exactSD, Got: m.StdDev(), Tolerance: toDigits(exactSD, 14)})

		var halves [2]Moments
		for i, v := range values {
			halves[i*2/len(values)].Add(v)
		}
		halves[0].Merge(halves[1])
		check(t, PublishedCheck{Function: "Moments.Merge", Case: c.name + ", two halves", Source: strd, Where: "univariate summary statistics",
			Want: sd, Got: halves[0].StdDev(), Tolerance: toDigits(sd, c.digs)})
	}
}

// TestOneWay asks of the analysis of variance what the data hold once they are
// float64: a response of 1000000000000.4 is known to 1e-4, so SmLs07 agrees with
// the certified F in four digits and could in no more. The rows against rational
// arithmetic show that no digits are lost beyond that.
func TestOneWay(t *testing.T) {
	for _, c := range []struct {
		name, between, within string
		digits                float64 // of F, R² and the residual standard deviation
	}{
		{"SiRstv", "Between Instrument", "Within Instrument", 12},
		{"AtmWtAg", "Between Instrument", "Within Instrument", 10},
		{"SmLs01", "Between Treatment", "Within Treatment", 13},
		{"SmLs04", "Between Treatment", "Within Treatment", 10},
		{"SmLs07", "Between Treatment", "Within Treatment", 4},
	} {
		set := loadDataset(t, c.name)
		groups := set.groups()
		r, err := Anova(groups)
		if err != nil {
			t.Fatal(err)
		}
		if df := int64(set.certified(t, c.between, 0)); r.Between.DF != df {
			t.Errorf("%s: got %d degrees of freedom between, want %d", c.name, r.Between.DF, df)
		}
		if df := int64(set.certified(t, c.within, 0)); r.Within.DF != df {
			t.Errorf("%s: got %d degrees of freedom within, want %d", c.name, r.Within.DF, df)
		}
		row := func(what string, got, want float64) {
			check(t, PublishedCheck{Function: "Anova", Case: c.name + ", " + what, Source: strd, Where: "analysis of variance",
				Want: want, Got: got, Tolerance: toDigits(want, c.digits)})
		}
		row("sum of squares between", r.Between.Sum, set.certified(t, c.between, 1))
		row("mean square within", r.Within.Mean, set.certified(t, c.within, 2))
		row("F", r.F, set.certified(t, c.between, 3))
		row("eta squared", r.EtaSquared, set.certified(t, "Certified R-Squared", 0))
		row("residual standard deviation", r.ResidualSD, set.certified(t, "Standard Deviation", 0))

		want := exactF(set, len(groups))
		check(t, PublishedCheck{Function: "Anova", Case: c.name + " as float64, F", Source: "closed form", Where: "rational arithmetic",
			Want: want, Got: r.F, Tolerance: toDigits(want, 13)})
	}
}

// exactF returns F in rational arithmetic.
func exactF(set dataset, groups int) float64 {
	sums := make([]big.Rat, groups)
	counts := make([]int64, groups)
	var sum, squares, between big.Rat
	for _, row := range set.rows {
		v := new(big.Rat).SetFloat64(row[1])
		g := int(row[0]) - 1
		sums[g].Add(&sums[g], v)
		counts[g]++
		sum.Add(&sum, v)
		squares.Add(&squares, v.Mul(v, v))
	}
	over := func(sum *big.Rat, n int64) *big.Rat {
		return new(big.Rat).Quo(new(big.Rat).Mul(sum, sum), new(big.Rat).SetInt64(n))
	}
	for g := range sums {
		between.Add(&between, over(&sums[g], counts[g]))
	}
	within := new(big.Rat).Sub(&squares, &between)
	n := int64(len(set.rows))
	between.Sub(&between, over(&sum, n))
	between.Quo(&between, new(big.Rat).SetInt64(int64(groups-1)))
	within.Quo(within, new(big.Rat).SetInt64(n-int64(groups)))
	f, _ := between.Quo(&between, within).Float64()
	return f
}

func TestNorris(t *testing.T) {
	set := loadDataset(t, "Norris")
	var l Line
	var y Moments
	var halves [2]Line
	for i, row := range set.rows {
		l.Add(row[1], row[0])
		y.Add(row[0])
		halves[i%2].Add(row[1], row[0])
	}
	halves[0].Merge(halves[1])
	const where = "linear regression, Norris"
	for _, half := range []struct {
		function string
		line     Line
	}{{"Line.Fit", l}, {"Line.Merge", halves[0]}} {
		fit, err := half.line.Fit()
		if err != nil {
			t.Fatal(err)
		}
		row := func(what string, got, want, digits float64) {
			check(t, PublishedCheck{Function: half.function, Case: "Norris, " + what, Source: strd, Where: where,
				Want: want, Got: got, Tolerance: toDigits(want, digits)})
		}
		row("intercept", fit.Intercept, set.certified(t, "B0", 0), 12)
		row("slope", fit.Slope, set.certified(t, "B1", 0), 14)
		row("standard error of the intercept", fit.InterceptSE, set.certified(t, "B0", 1), 13)
		row("standard error of the slope", fit.SlopeSE, set.certified(t, "B1", 1), 13)
		row("residual standard deviation", fit.ResidualSD, set.certified(t, "Standard Deviation", 0), 13)
		row("R squared", fit.R2, set.certified(t, "R-Squared", 0), 14)
		row("t squared", fit.T*fit.T, set.certified(t, "Regression", 3), 13)
		if want := int64(set.certified(t, "Residual  ", 0)); fit.DF != want {
			t.Errorf("got %d degrees of freedom, want %d", fit.DF, want)
		}
	}
	want := set.certified(t, "Regression", 1) + set.certified(t, "Residual  ", 1)
	check(t, PublishedCheck{Function: "Line.SYY", Case: "Norris", Source: strd, Where: where,
		Want: want, Got: l.SYY(), Tolerance: toDigits(want, 14)})
	rss := set.certified(t, "Residual  ", 1)
	check(t, PublishedCheck{Function: "Line.Add", Case: "Norris, residual sum of squares", Source: strd, Where: where,
		Want: rss, Got: l.RSS, Tolerance: toDigits(rss, 13)})
}

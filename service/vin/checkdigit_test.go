package vin

import (
	"errors"
	"testing"

	"pgregory.net/rapid"
)

// TestTransliteration holds Table III of 49 CFR 565.15(c), looked up in a
// public print of the regulation. It is written out letter by letter, since
// the code builds it from runs.
func TestTransliteration(t *testing.T) {
	table := map[byte]int8{
		'A': 1, 'B': 2, 'C': 3, 'D': 4, 'E': 5, 'F': 6, 'G': 7, 'H': 8,
		'J': 1, 'K': 2, 'L': 3, 'M': 4, 'N': 5, 'P': 7, 'R': 9,
		'S': 2, 'T': 3, 'U': 4, 'V': 5, 'W': 6, 'X': 7, 'Y': 8, 'Z': 9,
		'0': 0, '1': 1, '2': 2, '3': 3, '4': 4, '5': 5, '6': 6, '7': 7, '8': 8, '9': 9,
	}
	for c := range 256 {
		want, used := table[byte(c)]
		if !used {
			want = -1
		}
		if got := value[c]; got != want {
			t.Errorf("%q has the value %d, want %d", byte(c), got, want)
		}
	}
}

// TestWeights holds Table IV of 49 CFR 565.15(c), from the same print.
func TestWeights(t *testing.T) {
	if want := [Length]int{8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2}; weight != want {
		t.Errorf("weights %v, want %v", weight, want)
	}
}

// TestWorkedExample is the sample calculation of 49 CFR 565.15(c), from the
// same print: the products add up to 411, and 411 leaves 4 divided by 11.
func TestWorkedExample(t *testing.T) {
	const sample = "1G4AH59H?5G118341"
	products := [Length]int{8, 49, 24, 5, 32, 15, 18, 80, 0, 45, 56, 7, 6, 40, 12, 12, 2}
	sum := 0
	for i := range Length {
		product := 0
		if i != 8 {
			product = int(value[sample[i]]) * weight[i]
		}
		if product != products[i] {
			t.Errorf("position %d: product %d, want %d", i+1, product, products[i])
		}
		sum += product
	}
	if sum != 411 {
		t.Errorf("the products add up to %d, want 411", sum)
	}
	if got, err := CheckDigit(sample); err != nil || got != '4' {
		t.Errorf("CheckDigit = %q, %v, want 4", got, err)
	}
	v, err := Parse("1G4AH59H45G118341")
	if err != nil || !v.CheckDigitOK() {
		t.Errorf("the finished VIN: %v, %v", err, v.CheckDigitOK())
	}
}

// A remainder of ten is written X (49 CFR 565.15(c), from the same print).
func TestRemainderTen(t *testing.T) {
	// 2 at a weight of 5: ten.
	if got, err := CheckDigit("000200000" + "00000000"); err != nil || got != 'X' {
		t.Errorf("CheckDigit = %q, %v, want X", got, err)
	}
	if !VIN("00020000X00000000").CheckDigitOK() {
		t.Error("X is not taken as the check digit")
	}
}

func TestCheckDigitRefuses(t *testing.T) {
	for s, want := range map[string]ShapeError{
		"":                   {Length: 0, Wanted: "17"},
		"0SGETBA24TA10012é7": {Length: 18, Wanted: "17"},
		"0SGETBA24TA10012é":  {17, 'é', 17, "a digit or a capital letter (I, O and Q are never used)"},
		"0SgETBA24TA100123":  {3, 'g', 17, "a digit or a capital letter (I, O and Q are never used)"},
		"0SGETBA24TAO00123":  {12, 'O', 17, "a digit or a capital letter (I, O and Q are never used)"},
	} {
		got, err := CheckDigit(s)
		var shape *ShapeError
		if !errors.As(err, &shape) || *shape != want || got != 0 {
			t.Errorf("CheckDigit(%q) = %q, %v, want %v", s, got, err, &want)
		}
	}
}

const alphabet = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"

// anyVIN draws a VIN whose check digit is right.
func anyVIN() *rapid.Generator[VIN] {
	return rapid.Custom(func(t *rapid.T) VIN {
		v := rapid.SliceOfN(rapid.SampledFrom([]byte(alphabet)), Length, Length).Draw(t, "characters")
		for i := firstNumeric; i < Length; i++ {
			v[i] = rapid.SampledFrom([]byte("0123456789")).Draw(t, "digit")
		}
		digit, err := CheckDigit(string(v))
		if err != nil {
			t.Fatal(err)
		}
		v[8] = digit
		return VIN(v)
	})
}

// A single misread character changes the check digit exactly when its value
// differs: all weights but that of the check digit are prime to 11, and values
// run from 0 to 9.
func TestOneMisreadCharacterIsNoticed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyVIN().Draw(t, "vin")
		if !v.CheckDigitOK() {
			t.Fatalf("%s has a wrong check digit", v)
		}
		i := rapid.IntRange(0, Length-1).Filter(func(i int) bool { return i != 8 }).Draw(t, "index")
		misread := []byte(v)
		misread[i] = rapid.SampledFrom([]byte(alphabet)).Draw(t, "character")
		digit, err := CheckDigit(string(misread))
		if err != nil {
			t.Fatal(err)
		}
		if same := value[misread[i]] == value[v[i]]; (digit == v[8]) != same {
			t.Fatalf("%s read as %s: check digit %q", v, misread, digit)
		}
	})
}

func BenchmarkCheckDigit(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := CheckDigit(invented); err != nil {
			b.Fatal(err)
		}
	}
}

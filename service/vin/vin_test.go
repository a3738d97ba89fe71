package vin

import (
	"errors"
	"strings"
	"testing"
)

// invented is a VIN of no maker: WMIs that start with 0 are unassigned.
const invented = "0SGETBA24TA100123"

func TestParse(t *testing.T) {
	for _, s := range []string{
		invented,
		"0sgetba24ta100123",
		"  0SGETBA24TA100123\n",
		"0SG ETBA24 TA100123",
		"0SG-ETBA24-TA-100123",
		"0SG\u00a0ETBA24\u00a0TA100123",
	} {
		if got, err := Parse(s); err != nil || got != invented {
			t.Errorf("Parse(%q) = %q, %v", s, got, err)
		}
	}
}

// The shape of ISO 3779, from memory: seventeen characters, no I, O or Q, and
// digits in the last four places. That I, O and Q are out is also in 49 CFR
// 565.13.
func TestParseRefuses(t *testing.T) {
	tests := []struct {
		s    string
		want ShapeError
		text string
	}{
		{"", ShapeError{Length: 0, Wanted: "17"}, "a VIN of 0 characters: wanted 17"},
		{"0SGETBA24TA10012", ShapeError{Length: 16, Wanted: "17"}, ""},
		{"0SGETBA24TA1001234", ShapeError{Length: 18, Wanted: "17"}, ""},
		{"0SGETBA24TA10012é", ShapeError{17, 'é', 17, "a digit or a letter"}, ""},
		{"0SGETBA2*TA100123", ShapeError{9, '*', 17, "a digit or a letter"}, ""},
		{"OSGETBA24TA100123", ShapeError{1, 'O', 17, "a digit or a letter (I, O and Q are never used; perhaps it is 0)"},
			"character 1 of the VIN is 'O': wanted a digit or a letter (I, O and Q are never used; perhaps it is 0)"},
		{"0SGETBA24TAi00123", ShapeError{12, 'i', 17, "a digit or a letter (I, O and Q are never used; perhaps it is 1)"}, ""},
		{"0SG-ETBQ24TA100123", ShapeError{7, 'Q', 17, "a digit or a letter (I, O and Q are never used; perhaps it is 0)"}, ""},
		{"0SGETBA24TA100A23", ShapeError{15, 'A', 17, "a digit, as the last four characters are"}, ""},
		{"0SGETBA24TA10012O", ShapeError{17, 'O', 17, "a digit or a letter (I, O and Q are never used; perhaps it is 0)"}, ""},
		{"0SGETBA24TA10\xff123", ShapeError{14, '\uFFFD', 17, "a digit or a letter"}, ""},
	}
	for _, tt := range tests {
		got, err := Parse(tt.s)
		var shape *ShapeError
		if !errors.As(err, &shape) || got != "" {
			t.Errorf("Parse(%q) = %q, %v", tt.s, got, err)
			continue
		}
		if *shape != tt.want {
			t.Errorf("Parse(%q): %+v, want %+v", tt.s, *shape, tt.want)
		}
		if tt.text != "" && err.Error() != tt.text {
			t.Errorf("Parse(%q): %q, want %q", tt.s, err, tt.text)
		}
	}
}

// Every character but the 33 is refused in every position.
func TestAlphabet(t *testing.T) {
	const alphabet = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
	for position := 1; position <= Length; position++ {
		for c := range 256 {
			s := []rune(invented)
			s[position-1] = rune(c)
			_, err := Parse(string(s))
			allowed := c < 128 && strings.ContainsRune(alphabet, []rune(strings.ToUpper(string(rune(c))))[0])
			if position > 13 {
				allowed = c >= '0' && c <= '9'
			}
			if (err == nil) != allowed {
				t.Errorf("%q at position %d: %v", rune(c), position, err)
			}
		}
	}
}

func TestSections(t *testing.T) {
	v := VIN(invented)
	if v.WMI() != "0SG" || v.VDS() != "ETBA24" || v.VIS() != "TA100123" || v.WMI()+v.VDS()+v.VIS() != invented {
		t.Errorf("sections %q %q %q", v.WMI(), v.VDS(), v.VIS())
	}
	if v.ModelYearCode() != 'T' || v.PlantCode() != 'A' || v.Serial() != "100123" || v.SmallMaker() {
		t.Errorf("%q %q %q %v", v.ModelYearCode(), v.PlantCode(), v.Serial(), v.SmallMaker())
	}
	if got, want := v.Grouped(), "0SG ETBA24 TA 100123"; got != want {
		t.Errorf("Grouped gives %q, want %q", got, want)
	}
	// 49 CFR 565.15(a): the third to fifth characters of the last section
	// belong to the maker's name when a WMI is shared; that its last
	// character is then 9 is ISO 3780, from memory.
	if small := VIN("0S9ETBA24TAX1Z123"); small.Serial() != "123" || !small.SmallMaker() {
		t.Errorf("a small maker's serial number is %q", small.Serial())
	}
}

func TestMethodsOfWhatIsNoVIN(t *testing.T) {
	for _, v := range []VIN{"", "0S", "0SGETBA24TA1001234"} {
		if v.WMI()+v.VDS()+v.VIS()+v.Serial() != "" || v.ModelYearCode() != 0 || v.PlantCode() != 0 || v.CheckDigitOK() {
			t.Errorf("%q has sections", v)
		}
		if v.Grouped() != string(v) || v.String() != string(v) {
			t.Errorf("%q prints as %q", string(v), v.Grouped())
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{invented, "0sg etba24 ta-100123", "OSGETBA24TA100123", "", "-", "0SGETBA24TA10012é", strings.Repeat("0", 40), "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := Parse(s)
		if err != nil {
			var shape *ShapeError
			if !errors.As(err, &shape) || v != "" || shape.Wanted == "" || shape.Position < 0 || shape.Position > Length {
				t.Fatalf("Parse(%q) = %q, %#v", s, v, err)
			}
			return
		}
		if again, err := Parse(string(v)); err != nil || again != v {
			t.Fatalf("Parse(%q) = %q, which reads as %q, %v", s, v, again, err)
		}
		if again, err := Parse(v.Grouped()); err != nil || again != v {
			t.Fatalf("%q grouped reads as %q, %v", v, again, err)
		}
		if len(v) != Length || strings.ContainsAny(string(v), "IOQ") || strings.ToUpper(string(v)) != string(v) {
			t.Fatalf("Parse(%q) = %q", s, v)
		}
		if v.WMI()+v.VDS()+v.VIS() != string(v) || !strings.HasSuffix(v.VIS(), v.Serial()) {
			t.Fatalf("the sections of %q do not make it up", v)
		}
		digit, err := CheckDigit(string(v))
		if err != nil {
			t.Fatalf("CheckDigit(%q): %v", v, err)
		}
		if v.CheckDigitOK() != (digit == v[8]) {
			t.Fatalf("CheckDigitOK of %q is %v, the digit %q", v, v.CheckDigitOK(), digit)
		}
		p, err := CompilePattern(string(v))
		if err != nil || !p.Match(v) {
			t.Fatalf("%q does not match itself: %v", v, err)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse(invented); err != nil {
			b.Fatal(err)
		}
	}
}

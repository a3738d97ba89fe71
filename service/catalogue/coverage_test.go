package catalogue

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// few is a part of the alphabet, with which all serials can be tried.
const few = "01YZ"

func drawCoverage(t *rapid.T, name string) *pb.VinCoverage {
	character := rapid.SampledFrom([]string{"?", "?", "0", "1", "Z"})
	pattern := rapid.Custom(func(t *rapid.T) string {
		text := "0VS" + character.Draw(t, "fourth") + "???????"
		for range 2 {
			text += character.Draw(t, "serial")
		}
		text += rapid.SampledFrom([]string{"?", "0", "1"}).Draw(t, "digit")
		return text + "000" // so that three are tried, not six
	})
	bound := rapid.Custom(func(t *rapid.T) string {
		text := ""
		for range 6 {
			text += rapid.SampledFrom([]string{"0", "1", "Y", "Z"}).Draw(t, "bound")
		}
		return text
	})
	c := &pb.VinCoverage{Patterns: rapid.SliceOfN(pattern, 1, 2).Draw(t, name)}
	if rapid.Bool().Draw(t, "from") {
		c.SerialFrom = bound.Draw(t, "serial from")
	}
	if rapid.Bool().Draw(t, "to") {
		c.SerialTo = bound.Draw(t, "serial to")
	}
	return c
}

// TestOverlap finds what two coverages have in common by trying.
func TestOverlap(t *testing.T) {
	t.Parallel()
	// All bounds and patterns are made of few, of which 0 and 1, and Y and Z, are
	// neighbours: where any VIN is covered by both, one made of few is.
	var units []vin.VIN
	for _, fourth := range few {
		for _, a := range few {
			for _, b := range few {
				for _, c := range "01" {
					units = append(units, vin.VIN("0VS"+string(fourth)+"0000000"+string([]rune{a, b, c})+"000"))
				}
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := compileCoverage(drawCoverage(t, "a")), compileCoverage(drawCoverage(t, "b"))
		both := a.overlap(b)
		if (both == "") != (b.overlap(a) == "") {
			t.Fatalf("got %q one way and %q the other", both, b.overlap(a))
		}
		if both != "" {
			one := vin.VIN(strings.ReplaceAll(both, "?", "0"))
			if !a.Contains(one) || !b.Contains(one) {
				t.Fatalf("got %s, which %t and %t cover", one, a.Contains(one), b.Contains(one))
			}
			return
		}
		for _, one := range units {
			if a.Contains(one) && b.Contains(one) {
				t.Fatalf("both cover %s", one)
			}
		}
	})
}

// TestCoversAsRevision holds heads to what package spec says of their sheets.
func TestCoversAsRevision(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := sheet(1, 1, 1)
		s.Vin = drawCoverage(t, "coverage")
		if (vin.SerialRange{From: s.Vin.SerialFrom, To: s.Vin.SerialTo}).Validate() != nil {
			t.Skip("no sheet has that")
		}
		r := mustRevision(t, s)
		h := &Head{covers: compileCoverage(s.Vin)}
		for range 20 {
			v := vin.VIN("0VS" + rapid.StringOfN(rapid.RuneFrom([]rune(few)), 10, 10, -1).Draw(t, "vin") + "1000")
			if got, want := h.CoversVIN(v), r.CoversVIN(v); got != want {
				t.Fatalf("%s: got %t, wanted %t", v, got, want)
			}
		}
	})
}

func TestWidth(t *testing.T) {
	t.Parallel()
	if a, b := compileCoverage(&pb.VinCoverage{Patterns: []string{"0VS??????T???????"}, SerialFrom: "000500", SerialTo: "000799"}),
		compileCoverage(&pb.VinCoverage{Patterns: []string{"0VS??????T???????"}, SerialFrom: "000700", SerialTo: "000999"}); a.width != b.width {
		t.Errorf("got widths %v and %v of equal ranges", a.width, b.width)
	}
	all := []*pb.VinCoverage{ // from narrow to wide
		{Patterns: []string{"0VS??????T0000001"}},
		{Patterns: []string{"0VS??????T???????"}, SerialFrom: "000100", SerialTo: "000199"},
		{Patterns: []string{"0VS??????T???????"}, SerialFrom: "000100", SerialTo: "004999"},
		{Patterns: []string{"0VS??????T???????"}, SerialFrom: "005000"},
		{Patterns: []string{"0VS??????T???????"}, SerialTo: "ZZZZZZ"},
		{Patterns: []string{"0VS??????T???????", "0VS??????V???????"}},
		{Patterns: []string{"0VS??????????????"}},
	}
	for i := range all[1:] {
		if a, b := compileCoverage(all[i]), compileCoverage(all[i+1]); a.width >= b.width {
			t.Errorf("got widths %v of %v and %v of %v", a.width, all[i], b.width, all[i+1])
		}
	}
}

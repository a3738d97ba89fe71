package spec

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// TestInJobOrder compares with the definition: of the orders with every
// prerequisite first, the one that takes at each step the first that it can.
func TestInJobOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids := []string{"a", "b", "c", "d", "e", "f"}
		var list []*pb.Characteristic
		for _, id := range ids {
			list = append(list, &pb.Characteristic{
				Id: id, Prerequisites: rapid.SliceOfNDistinct(rapid.SampledFrom(append(ids, "elsewhere")), 0, 2, rapid.ID[string]).Draw(t, id),
			})
		}
		var want []*pb.Characteristic
		there := func(id string) bool {
			return !slices.Contains(ids, id) || slices.ContainsFunc(want, func(ch *pb.Characteristic) bool { return ch.GetId() == id })
		}
		for {
			i := slices.IndexFunc(list, func(ch *pb.Characteristic) bool {
				return !there(ch.GetId()) && !slices.ContainsFunc(ch.GetPrerequisites(), func(id string) bool { return !there(id) })
			})
			if i < 0 {
				break
			}
			want = append(want, list[i])
		}
		cyclic := len(list) - len(want)
		got, gotCyclic := inJobOrder(list)
		if gotCyclic != cyclic || len(got) != len(list) || !slices.Equal(got[:len(want)], want) {
			t.Fatalf("got %v (%d), want %v (%d)", got, gotCyclic, want, cyclic)
		}
		circle := cycle(ids, func(id string) []string { return list[slices.Index(ids, id)].GetPrerequisites() })
		if (circle != nil) != (cyclic > 0) {
			t.Fatalf("got the circle %v, %d in or behind one", circle, cyclic)
		}
		for i := 1; i < len(circle); i++ {
			if !slices.Contains(list[slices.Index(ids, circle[i-1])].GetPrerequisites(), circle[i]) {
				t.Fatalf("%v is no circle", circle)
			}
		}
	})
}

// TestOverlap compares with the definition: a VIN of few characters that both
// coverages contain.
func TestOverlap(t *testing.T) {
	const letters = "01"
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string) *pb.VinCoverage {
			c := &pb.VinCoverage{
				SerialFrom: rapid.SampledFrom([]string{"", "000000", "000001", "000010", "000011"}).Draw(t, label+" from"),
				SerialTo:   rapid.SampledFrom([]string{"", "000001", "000010", "000011"}).Draw(t, label+" to"),
			}
			if c.SerialTo != "" && c.SerialFrom > c.SerialTo {
				t.Skip("lint refuses it")
			}
			for _, p := range rapid.SliceOfN(rapid.StringMatching(`[01?]{2}`), 1, 2).Draw(t, label) {
				c.Patterns = append(c.Patterns, "0AA"+p+"??????????"+"??")
			}
			return c
		}
		a, b := draw("a"), draw("b")
		want := false
		for bits := range 16 {
			v := vin.VIN("0AA" + string([]byte{letters[bits&1], letters[bits>>1&1]}) + "000000" + "0000" + string([]byte{letters[bits>>2&1], letters[bits>>3]}))
			want = want || CompileCoverage(a).Contains(v) && CompileCoverage(b).Contains(v)
		}
		if got := overlap(a, b); got != want || overlap(b, a) != got {
			t.Fatalf("%v and %v: got %v, want %v", a, b, got, want)
		}
	})
}

func TestWords(t *testing.T) {
	for text, want := range map[string][]string{
		"Front-Axle NUT":      {"front", "axle", "nut"},
		"M8x1.25, 1,5 mm.":    {"m8x1.25", "1.5", "mm"},
		"Réservoir d’huile ß": {"reservoir", "dhuile", "ss"},
		"what's 10° (½)":      {"whats", "10", "1", "2"},
		"":                    nil,
		"…":                   nil,
		"\xff\xfe oil":        {"oil"},
		"水 água":              {"水", "agua"},
		"20i/30i":             {"20i", "30i"},
		"wheels_and_tyres":    {"wheels", "and", "tyres"},
		"N·m":                 {"n", "m"},
		"a\u00a0b":            {"a", "b"},
	} {
		if got := words(text); !slices.Equal(got, want) {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
}

func TestSingular(t *testing.T) {
	for word, want := range map[string]string{
		"bolts": "bolt", "bolt": "bolt", "clutches": "clutch", "batteries": "battery", "bushes": "bush", "boxes": "box",
		"glass": "glass", "glasses": "glass", "radius": "radius", "axis": "axis", "gas": "gas", "tyres": "tyre", "is": "is", "spokes": "spoke",
	} {
		if got := singular(word); got != want {
			t.Errorf("%s: got %s, want %s", word, got, want)
		}
	}
}

func TestVocabulary(t *testing.T) {
	v := trade()
	for _, phrase := range []string{"how much", "petrol tap", "free play", "torque", "click"} {
		if v.phrases[phrase] == nil {
			t.Errorf("%q is missing", phrase)
		}
	}
	for _, bad := range []string{"ignored: [--]", "synonyms: [[a, '.']]", "words: []", "intents: [{kinds: [a], words: ['']}]", "- a"} {
		if _, err := readVocabulary([]byte(bad)); err == nil {
			t.Errorf("%s is accepted", bad)
		}
	}
}

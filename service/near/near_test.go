package near_test

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"github.com/snapgauge/snapgauge/service/near"
)

func TestDistance(t *testing.T) {
	long := strings.Repeat("a", near.Longest)
	for _, test := range []struct {
		a, b  string
		limit int
		want  int
	}{
		{"", "", 0, 0},
		{"", "abc", 3, 3},
		{"heron", "heron", 0, 0},
		{"heeron", "heron", 2, 1},
		{"heon", "heron", 2, 1},
		{"heton", "heron", 2, 1},
		{"cuaseway", "causeway", 2, 1}, // neighbours swapped
		{"scere", "scree", 2, 1},
		{"ca", "abc", 3, 3}, // no part is touched twice
		{"kitten", "sitting", 5, 3},
		{"kitten", "sitting", 2, 3},
		{"abcdef", "uvwxyz", 1, 2},
		{"Heron", "heron", 1, 1}, // characters as they are
		{"µm", "um", 1, 1},       // one character of two bytes
		{"水água", "água水", 3, 2},
		{"\xff", "a", 1, 1}, // no text, and still no panic
		{long, long[1:], 1, 1},
		{long + "a", long, 1, 2}, // too long to compare
		{long + "a", long + "a", 0, 0},
	} {
		if got := near.Distance(test.a, test.b, test.limit); got != test.want {
			t.Errorf("%q to %q within %d: got %d, want %d", test.a, test.b, test.limit, got, test.want)
		}
	}
}

// TestDistanceReference compares with the definition, by recursion.
func TestDistanceReference(t *testing.T) {
	var reference func(a, b []rune) int
	reference = func(a, b []rune) int {
		switch {
		case len(a) == 0:
			return len(b)
		case len(b) == 0:
			return len(a)
		}
		d := reference(a[1:], b[1:])
		if a[0] != b[0] {
			d++
		}
		d = min(d, reference(a[1:], b)+1, reference(a, b[1:])+1)
		if len(a) > 1 && len(b) > 1 && a[0] == b[1] && a[1] == b[0] {
			d = min(d, reference(a[2:], b[2:])+1)
		}
		return d
	}
	word := rapid.StringMatching(`[abµ]{0,6}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b, limit := word.Draw(t, "a"), word.Draw(t, "b"), rapid.IntRange(0, 7).Draw(t, "limit")
		got, want := near.Distance(a, b, limit), min(reference([]rune(a), []rune(b)), limit+1)
		if got != want {
			t.Fatalf("%q to %q within %d: got %d, want %d", a, b, limit, got, want)
		}
		if back := near.Distance(b, a, limit); back != got {
			t.Fatalf("%q to %q within %d: got %d, the other way %d", a, b, limit, got, back)
		}
	})
}

// TestOneSlip makes one slip of each kind anywhere in a word.
func TestOneSlip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := []rune(rapid.StringMatching(`[a-eé]{2,30}`).Draw(t, "word"))
		i := rapid.IntRange(0, len(word)-2).Draw(t, "place")
		for what, slip := range map[string][]rune{
			"put in":   slices.Insert(slices.Clone(word), i, 'x'),
			"left out": slices.Delete(slices.Clone(word), i, i+1),
			"changed":  slices.Concat(word[:i], []rune{'x'}, word[i+1:]),
			"swapped":  slices.Concat(word[:i], []rune{word[i+1], word[i]}, word[i+2:]),
		} {
			want := 1
			if slices.Equal(slip, word) { // two alike swapped
				want = 0
			}
			if got := near.Distance(string(word), string(slip), 3); got != want {
				t.Fatalf("%s: %q to %q: got %d, want %d", what, string(word), string(slip), got, want)
			}
		}
	})
}

func TestDistanceDoesNotAllocate(t *testing.T) {
	if n := testing.AllocsPerRun(10, func() { near.Distance("clutch_lever_play", "clutch_levre_paly", 5) }); n != 0 {
		t.Errorf("allocates %v times", n)
	}
}

func TestLimits(t *testing.T) {
	for length, want := range map[int][2]int{
		0: {1, 0}, 1: {1, 0}, 3: {1, 0}, 4: {1, 1}, 5: {1, 1}, 6: {2, 1}, 7: {2, 1}, 8: {2, 2}, 9: {3, 2}, 64: {21, 2},
	} {
		if got := [2]int{near.Offered(length), near.Trusted(length)}; got != want {
			t.Errorf("%d characters: got %v offered and trusted, want %v", length, got, want)
		}
	}
}

func TestNames(t *testing.T) {
	long := strings.Repeat("torque", 20)
	for _, test := range []struct {
		what    string
		written string
		names   []string
		most    int
		want    []string
	}{
		{"nearest first", "chain_slak", []string{"chain_slip", "chain_slack"}, 5, []string{"chain_slack", "chain_slip"}},
		{"in the order of the list", "tirn", []string{"turn", "tern", "torn"}, 5, []string{"turn", "tern", "torn"}},
		{"at most so many", "tirn", []string{"turn", "tern", "torn"}, 2, []string{"turn", "tern"}},
		{"none wanted", "turn", []string{"turn"}, 0, nil},
		{"none twice", "trun", []string{"turn", "turn"}, 5, []string{"turn"}},
		{"case is overlooked and kept", "MPA", []string{"bar", "MPa"}, 5, []string{"MPa"}},
		{"case in one letter", "q", []string{"Q"}, 5, []string{"Q"}},
		{"accents are two bytes and one character", "reservoir", []string{"réservoir"}, 5, []string{"réservoir"}},
		{"a third away", "abcdef", []string{"abcdxy", "abcxyz"}, 5, []string{"abcdxy"}},
		{"nothing of it kept", "x", []string{"y", "xy"}, 5, nil},
		{"nothing written", "", []string{"a", "ab", ""}, 5, []string{""}},
		{"nothing near", "zzz", []string{"heron", "glade", "gannet"}, 5, nil},
		{"no names", "turn", nil, 5, nil},
		{"too long to compare", long, []string{long + "s"}, 5, nil},
		{"too long, and the same", long, []string{strings.ToUpper(long)}, 5, []string{strings.ToUpper(long)}},
	} {
		t.Run(test.what, func(t *testing.T) {
			got := near.Names(test.written, test.names, test.most)
			if !slices.Equal(got, test.want) {
				t.Errorf("got %q, want %q", got, test.want)
			}
			first := ""
			if all := near.Names(test.written, test.names, len(test.names)); len(all) > 0 {
				first = all[0]
			}
			if got := near.Name(test.written, test.names); got != first {
				t.Errorf("the nearest is %q, want %q", got, first)
			}
		})
	}
}

// TestNamesReference compares with the definition: each name measured, and
// drawn off nearest first.
func TestNamesReference(t *testing.T) {
	word := rapid.StringMatching(`[aBcé]{0,7}`)
	rapid.Check(t, func(t *rapid.T) {
		written, most := word.Draw(t, "written"), rapid.IntRange(0, 4).Draw(t, "most")
		names := rapid.SliceOfN(word, 0, 8).Draw(t, "names")
		var want []string
		for distance := range near.Longest {
			for _, name := range names {
				d, ok := near.Measure(written, name)
				if back, _ := near.Measure(strings.ToUpper(written), strings.ToLower(name)); back != d {
					t.Fatalf("%q and %q: case matters: %d or %d", written, name, d, back)
				}
				if longer := max(utf8.RuneCountInString(written), utf8.RuneCountInString(name)); ok && d > near.Offered(longer) {
					t.Fatalf("%q is near %q, %d slips away", name, written, d)
				}
				if ok && d == distance && len(want) < most && !slices.Contains(want, name) {
					want = append(want, name)
				}
			}
		}
		if got := near.Names(written, names, most); !slices.Equal(got, want) {
			t.Fatalf("got %q, want %q", got, want)
		}
	})
}

func BenchmarkDistance(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		near.Distance("injektion", "injection", 2)
	}
}

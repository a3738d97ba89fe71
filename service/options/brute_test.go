package options_test

import (
	"fmt"
	"math/bits"
	"slices"

	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// world is a sheet with few options, worked out by trying every set of them.
// Sets are bit masks by place on the sheet.
type world struct {
	sheet      *pb.SpecSheet
	n          int
	requires   []int
	excludes   []int // both ways
	lacking    []bool
	consistent []bool // by set
	compatible []bool // by set: some consistent set contains it
}

func newWorld(sheet *pb.SpecSheet) *world {
	w := &world{sheet: sheet, n: len(sheet.GetOptions())}
	w.requires, w.excludes, w.lacking = make([]int, w.n), make([]int, w.n), make([]bool, w.n)
	for i, o := range sheet.GetOptions() {
		for _, id := range o.GetRequires() {
			if j := w.place(id); j >= 0 {
				w.requires[i] |= 1 << j
			} else {
				w.lacking[i] = true
			}
		}
		for _, id := range o.GetExcludes() {
			if j := w.place(id); j >= 0 {
				w.excludes[i] |= 1 << j
				w.excludes[j] |= 1 << i
			}
		}
	}
	w.consistent, w.compatible = make([]bool, 1<<w.n), make([]bool, 1<<w.n)
	for s := range w.consistent {
		w.consistent[s] = true
		for i := range w.n {
			if s>>i&1 == 1 && (w.lacking[i] || w.requires[i]&^s != 0 || w.excludes[i]&s != 0) {
				w.consistent[s] = false
			}
		}
		if w.consistent[s] {
			for sub := s; ; sub = (sub - 1) & s {
				w.compatible[sub] = true
				if sub == 0 {
					break
				}
			}
		}
	}
	return w
}

func (w *world) place(id string) int {
	return slices.IndexFunc(w.sheet.GetOptions(), func(o *pb.Option) bool { return o.GetId() == id })
}

func (w *world) mask(ids []string) int {
	s := 0
	for _, id := range ids {
		s |= 1 << w.place(id)
	}
	return s
}

func (w *world) ids(s int) []string {
	var ids []string
	for i := range w.n {
		if s>>i&1 == 1 {
			ids = append(ids, w.sheet.GetOptions()[i].GetId())
		}
	}
	return ids
}

// closure is the least set that has s and all that its options require.
func (w *world) closure(s int) int {
	least := 1<<w.n - 1
	for t := range 1 << w.n {
		closed := t&s == s
		for i := range w.n {
			closed = closed && (t>>i&1 == 0 || w.requires[i]&^t == 0)
		}
		if closed {
			least &= t
		}
	}
	return least
}

// causes holds the smallest subsets that no consistent set contains, without
// those that follow from another one.
func (w *world) causes(fitted int) []int {
	var minimal []int
	for s := range 1 << w.n {
		if s&^fitted != 0 || w.compatible[s] {
			continue
		}
		smallest := true
		for i := range w.n {
			smallest = smallest && (s>>i&1 == 0 || w.compatible[s&^(1<<i)])
		}
		if smallest {
			minimal = append(minimal, s)
		}
	}
	slices.SortFunc(minimal, func(a, b int) int { // by places on the sheet
		return slices.Compare(w.list(a), w.list(b))
	})
	var told []int
	for i, s := range minimal {
		follows := false
		for j, other := range minimal {
			back := s&^w.closure(other) == 0
			follows = follows || i != j && other&^w.closure(s) == 0 && (j < i || !back)
		}
		if !follows {
			told = append(told, s)
		}
	}
	return told
}

// list gives a set of one option as a pair, so that it sorts before pairs.
func (w *world) list(s int) []int {
	var places []int
	for i := range w.n {
		if s>>i&1 == 1 {
			places = append(places, i)
		}
	}
	if len(places) == 1 {
		places = append(places, places[0])
	}
	return places
}

// facts describes each reason for which the set is not consistent.
func (w *world) facts(fitted int) []string {
	var facts []string
	causes := w.causes(fitted)
	for _, c := range causes {
		facts = append(facts, fmt.Sprint("together ", w.ids(c)))
	}
	for i := range w.n {
		for j := range w.n {
			if fitted>>i&1 == 0 || w.requires[i]>>j&1 == 0 || fitted>>j&1 == 1 {
				continue
			}
			vain := false
			for _, c := range causes {
				vain = vain || c == 1<<i || c>>i&1 == 1 && !w.compatible[c&^(1<<i)|1<<j]
			}
			if !vain {
				facts = append(facts, fmt.Sprint("missing ", w.ids(1<<i), w.ids(1<<j)))
			}
		}
	}
	return facts
}

// mended reports whether a set has not the reason, and no other one that was
// not there.
func (w *world) mended(before []string, reason string, after int) bool {
	for _, f := range w.facts(after) {
		if f == reason || !slices.Contains(before, f) {
			return false
		}
	}
	return true
}

// smallestMends holds the sets with the fewest options changed, and how many
// those are.
func (w *world) smallestMends(fitted int, reason string) (sets []int, changes int) {
	before := w.facts(fitted)
	changes = w.n + 1
	for after := range 1 << w.n {
		size := bits.OnesCount(uint(fitted ^ after))
		if size > changes || !w.mended(before, reason, after) {
			continue
		}
		if size < changes {
			sets, changes = nil, size
		}
		sets = append(sets, after)
	}
	return sets, changes
}

// drawWorld draws up to so many options with requirements and exclusions,
// contradictions, circles and requirements of nothing included.
func drawWorld(t *rapid.T, most int) *world {
	n := rapid.IntRange(1, most).Draw(t, "options")
	sheet := &pb.SpecSheet{}
	for i := range n {
		o := &pb.Option{Id: fmt.Sprintf("part_%c", 'a'+i), DisplayName: fmt.Sprintf("Part %c", 'A'+i)}
		for j := range n {
			switch rapid.IntRange(0, 2*n+2).Draw(t, "relation") {
			case 0, 1:
				o.Requires = append(o.Requires, fmt.Sprintf("part_%c", 'a'+j))
			case 2:
				o.Excludes = append(o.Excludes, fmt.Sprintf("part_%c", 'a'+j))
			}
		}
		if rapid.IntRange(0, 15).Draw(t, "lack") == 0 {
			o.Requires = append(o.Requires, "nothing_of_the_kind")
		}
		sheet.Options = append(sheet.Options, o)
	}
	return newWorld(sheet)
}

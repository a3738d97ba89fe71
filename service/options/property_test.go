package options_test

import (
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/options"
)

// factOf describes a trouble as world.facts does.
func factOf(w *world, trouble *pb.OptionTrouble) string {
	_, lack, missing := strings.Cut(trouble.GetMessage(), " requires ")
	if missing && strings.Contains(lack, ", which is not fitted") && len(trouble.GetOptions()) == 1 {
		name, _, _ := strings.Cut(lack, ",")
		i := slices.IndexFunc(w.sheet.GetOptions(), func(o *pb.Option) bool { return o.GetDisplayName() == name })
		return fmt.Sprint("missing ", trouble.GetOptions(), w.ids(1<<i))
	}
	return fmt.Sprint("together ", trouble.GetOptions())
}

// The reasons and their order are those found by trying every set; each cause
// is smallest, each mend mends, and the first is as small as any.
func TestExplainAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, 8)
		fitted := rapid.IntRange(0, 1<<w.n-1).Draw(t, "fitted")
		troubles := options.Explain(w.sheet, w.ids(fitted))
		before := w.facts(fitted)
		var got []string
		for _, trouble := range troubles {
			got = append(got, factOf(w, trouble))
		}
		if diff := cmp.Diff(before, got); diff != "" {
			t.Fatalf("fitted %v: %s", w.ids(fitted), diff)
		}
		if consistent := options.Consistent(w.sheet, w.ids(fitted)); consistent != w.consistent[fitted] || consistent != (len(troubles) == 0) {
			t.Fatalf("consistent %t, and %d troubles; by trial %t", consistent, len(troubles), w.consistent[fitted])
		}
		for i, trouble := range troubles {
			checkMends(t, w, fitted, before, got[i], trouble)
		}
	})
}

func checkMends(t *rapid.T, w *world, fitted int, before []string, reason string, trouble *pb.OptionTrouble) {
	smallest, changes := w.smallestMends(fitted, reason)
	if len(trouble.GetMends()) == 0 {
		t.Fatalf("%s: no mend", reason)
	}
	var found []int
	last := 0
	for _, m := range trouble.GetMends() {
		add, remove := w.mask(m.GetAdd()), w.mask(m.GetRemove())
		after := fitted&^remove | add
		if add&fitted != 0 || remove&^fitted != 0 || !w.mended(before, reason, after) {
			t.Fatalf("%s: does not mend it: %v", reason, m)
		}
		size := bits.OnesCount(uint(add | remove))
		if size < last {
			t.Fatalf("%s: mends are not in the order of size", reason)
		}
		last = size
		found = append(found, after)
		// Nothing of it can be left out.
		for part := (add | remove) & (add | remove - 1); size <= 4; part = (part - 1) & (add | remove) {
			if w.mended(before, reason, fitted^part) {
				t.Fatalf("%s: %v is enough of %v", reason, w.ids(part), m)
			}
			if part == 0 {
				break
			}
		}
	}
	if got := bits.OnesCount(uint(fitted ^ found[0])); got != changes && changes <= 4 {
		t.Fatalf("%s: the smallest mend changes %d options, got %v", reason, changes, trouble.GetMends()[0])
	}
	for _, s := range smallest {
		if changes <= 4 && len(smallest) <= 6 && !slices.Contains(found, s) {
			t.Fatalf("%s: %v is as small and not told", reason, w.ids(s))
		}
	}
}

func TestExplainIgnoresOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, 8)
		fitted := append(w.ids(rapid.IntRange(0, 1<<w.n-1).Draw(t, "fitted")), "part_x", "part", "zzzzzzzz")
		other := rapid.Permutation(append(slices.Clone(fitted), fitted[0])).Draw(t, "order")
		if diff := cmp.Diff(options.Explain(w.sheet, fitted), options.Explain(w.sheet, other), protocmp.Transform()); diff != "" {
			t.Fatal(diff)
		}
	})
}

package options_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/options"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/specs"
)

// sheetOf makes a sheet from lines "a: needs b c; not d".
func sheetOf(lines ...string) *pb.SpecSheet {
	sheet := &pb.SpecSheet{SourceDocument: "handbook"}
	for _, line := range lines {
		id, rest, _ := strings.Cut(line, ":")
		o := &pb.Option{Id: id, DisplayName: strings.ToUpper(id), Source: "leaf " + id}
		for part := range strings.SplitSeq(rest, ";") {
			words := strings.Fields(part)
			switch {
			case len(words) == 0:
			case words[0] == "needs":
				o.Requires = words[1:]
			case words[0] == "not":
				o.Excludes = words[1:]
			case words[0] == "beware":
				o.Caution = strings.Join(words[1:], " ")
			}
		}
		sheet.Options = append(sheet.Options, o)
	}
	return sheet
}

// told writes troubles as lines: the cause, the message, the mends.
func told(troubles []*pb.OptionTrouble) []string {
	var lines []string
	for _, trouble := range troubles {
		lines = append(lines, fmt.Sprintf("%s | %s", strings.Join(trouble.GetOptions(), " "), trouble.GetMessage()))
		for _, m := range trouble.GetMends() {
			lines = append(lines, "  "+m.GetText())
		}
	}
	return lines
}

func TestExplain(t *testing.T) {
	chain := []string{"a: needs b", "b: needs c", "c: not d", "d:"}
	for name, test := range map[string]struct {
		sheet  []string
		fitted string
		want   []string
	}{
		"consistent": {chain, "a b c", nil},
		"nothing":    {chain, "", nil},
		"a conflict by a chain": {chain, "a d", []string{
			"a d | A cannot be fitted together with D: A requires B, B requires C, and C excludes D.",
			"  Take off A.",
			"  Take off D, and fit B and C.",
		}},
		"a conflict at the end of a chain": {chain, "a b c d", []string{
			"c d | C and D exclude each other.",
			"  Take off D.",
			"  Take off A, B and C.",
		}},
		"a requirement and what it requires": {chain, "a", []string{
			"a | A requires B, which is not fitted; B in turn requires C.",
			"  Take off A.",
			"  Fit B and C.",
		}},
		"chains from both sides": {[]string{"a: needs b", "b:", "c: needs d", "d: not b"}, "a c", []string{
			"a c | A cannot be fitted together with C: A requires B, C requires D, and D excludes B.",
			"  Take off A and C.",
			"  Take off A, and fit D.",
			"  Take off C, and fit B.",
		}},
		"a requirement that is in the way of another option": {[]string{"a: needs b", "b: not c", "c:", "d: needs c"}, "a d c", []string{
			"a c | A cannot be fitted together with C: A requires B, and B excludes C.",
			"  Take off A.",
			"  Take off C and D, and fit B.",
		}},
		"never": {[]string{"a: needs b c", "b: not c", "c:", "d: needs a"}, "d a b c", []string{
			"b c | B and C exclude each other.",
			"  Take off A, B and D.",
			"  Take off A, C and D.",
		}},
		"never, and alone": {[]string{"a: needs b c", "b: not c", "c:"}, "a", []string{
			"a | A cannot be fitted at all: A requires B, A requires C, and B excludes C.",
			"  Take off A.",
		}},
		"what the sheet lacks": {[]string{"a: needs b", "b: needs z"}, "a", []string{
			`a | A cannot be fitted at all: A requires B, and B requires "z", which this sheet does not have.`,
			"  Take off A.",
		}},
		"a circle": {[]string{"a: needs b", "b: needs a; not c", "c:"}, "a b c", []string{
			"a c | A cannot be fitted together with C: A requires B, and B excludes C.",
			"  Take off C.",
			"  Take off A and B.",
		}},
		"not on the sheet": {[]string{"hand_guards: needs clamps", "clamps:"}, "handguard side_car", []string{
			`handguard | This sheet has no option "handguard"; it may mean HAND_GUARDS, "hand_guards".`,
			`  Leave "handguard" out.`,
			`  Put "hand_guards" in the place of "handguard", and fit CLAMPS.`,
			`side_car | This sheet has no option "side_car"; what it changes is not known.`,
			`  Leave "side_car" out.`,
		}},
	} {
		t.Run(name, func(t *testing.T) {
			got := told(options.Explain(sheetOf(test.sheet...), strings.Fields(test.fitted)))
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestCautionAndSource(t *testing.T) {
	sheet := sheetOf("a: needs b; beware hot", "b: beware loud!", "c: not b; beware hot")
	got := options.Explain(sheet, []string{"a"})[0]
	if got.GetCaution() != "hot. loud!" || got.GetSource() != "leaf a" {
		t.Errorf("got caution %q, source %q", got.GetCaution(), got.GetSource())
	}
	got = options.Explain(sheet, []string{"c", "a"})[0]
	if got.GetCaution() != "hot. loud!" || got.GetSource() != "leaf a; leaf b; leaf c" {
		t.Errorf("got caution %q, source %q", got.GetCaution(), got.GetSource())
	}
}

// Whatever would take more than four changes is mended by taking off.
func TestManyChanges(t *testing.T) {
	lines := []string{"base: not other", "other:"}
	fitted := []string{"base", "other"}
	for i := range 60 {
		lines = append(lines, fmt.Sprintf("part_%02d: needs base", i), fmt.Sprintf("more_%02d: needs other", i))
		fitted = append(fitted, fmt.Sprintf("part_%02d", i), fmt.Sprintf("more_%02d", i))
	}
	sheet := sheetOf(lines...)
	troubles := options.Explain(sheet, fitted)
	if len(troubles) != 1 || len(troubles[0].GetMends()) != 2 {
		t.Fatalf("got %v", told(troubles))
	}
	for i, m := range troubles[0].GetMends() {
		if len(m.GetAdd()) != 0 || len(m.GetRemove()) != 61 || m.GetRemove()[0] != fitted[i] {
			t.Errorf("got %v", m)
		}
	}
}

// The options of the demonstration sheets.
func TestDemoSheets(t *testing.T) {
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		t.Fatal(err)
	}
	sheets := make(map[string]*pb.SpecSheet)
	for _, r := range revisions {
		sheets[r.Name()] = r.Sheet()
		for _, o := range r.Sheet().GetOptions() {
			for _, trouble := range options.Explain(r.Sheet(), []string{o.GetId()}) {
				if len(trouble.GetMends()) < 2 {
					t.Errorf("%s: %v", r.Name(), told([]*pb.OptionTrouble{trouble}))
				}
			}
		}
	}
	for name, want := range map[string][]string{
		"ulverdale-causeway-400-2026-us/revisions/2: off_highway_kit low_seat_kit firm_shock_spring heated_grip": {
			`heated_grip | This sheet has no option "heated_grip"; it may mean Heated grips, "heated_grips".`,
			`  Leave "heated_grip" out.`,
			`  Put "heated_grips" in the place of "heated_grip", and fit Accessory harness.`,
			"off_highway_kit low_seat_kit | Off-highway kit and Low seat kit exclude each other.",
			"  Take off Off-highway kit.",
			"  Take off Low seat kit.",
			"firm_shock_spring low_seat_kit | Firm shock spring and Low seat kit exclude each other.",
			"  Take off Firm shock spring.",
			"  Take off Low seat kit.",
			"off_highway_kit | Off-highway kit requires Rim locks, which is not fitted.",
			"  Take off Off-highway kit.",
			"  Fit Rim locks.",
		},
	} {
		sheet, fitted, _ := strings.Cut(name, ": ")
		got := told(options.Explain(sheets["specs/"+sheet], strings.Fields(fitted)))
		if diff := cmp.Diff(want, got); diff != "" {
			t.Error(diff)
		}
	}
}

// What makes a machine unfit for the road says so wherever it is in trouble.
func TestOffHighwayCaution(t *testing.T) {
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range revisions {
		if r.SpecID() != "ulverdale-causeway-400-2026-us" {
			continue
		}
		for _, fitted := range [][]string{{"off_highway_kit"}, {"off_highway_kit", "rim_lock_kit", "luggage_rack"}, {"off_highway_kitt"}} {
			troubles := options.Explain(r.Sheet(), fitted)
			if len(troubles) != 1 || !strings.Contains(troubles[0].GetCaution(), "must not be registered or ridden on public roads") {
				t.Errorf("%s, %v: %v", r.Name(), fitted, troubles)
			}
		}
	}
}

func BenchmarkExplain(b *testing.B) {
	var lines, fitted []string
	for i := range 64 {
		lines = append(lines, fmt.Sprintf("part_%02d: needs part_%02d; not part_%02d", i, (i+7)%64, (i+9)%64))
		if i%3 == 0 {
			fitted = append(fitted, fmt.Sprintf("part_%02d", i))
		}
	}
	sheet := sheetOf(lines...)
	b.ResetTimer()
	for range b.N {
		options.Explain(sheet, fitted)
	}
}

package spec_test

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

// testLibrary is the library of testdata/library.
func testLibrary(t testing.TB) *spec.Library {
	t.Helper()
	revs, err := spec.Load(os.DirFS("testdata/library"))
	if err != nil {
		t.Fatal(err)
	}
	l, err := spec.NewLibrary(revs)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// testRevision is the first revision of testdata/library, which has something
// of everything.
func testRevision(t testing.TB) *spec.Revision {
	t.Helper()
	r, err := testLibrary(t).Revision("scree-250i-2026-eu", 1)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// testSheet is a copy of the sheet of testRevision.
func testSheet(t testing.TB) *pb.SpecSheet {
	t.Helper()
	return proto.Clone(testRevision(t).Sheet()).(*pb.SpecSheet)
}

func characteristic(list []*pb.Characteristic, id string) *pb.Characteristic {
	i := slices.IndexFunc(list, func(ch *pb.Characteristic) bool { return ch.GetId() == id })
	if i < 0 {
		return nil
	}
	return list[i]
}

func TestLoadDerived(t *testing.T) {
	l := testLibrary(t)
	first, second := testRevision(t), mustRevision(t, l, "scree-250i-2026-eu", 2)
	us := mustRevision(t, l, "scree-250i-2027-us", 1)

	if got := characteristic(second.Sheet().Characteristics, "front_tyre_pressure"); got.GetLimits().GetUpper() != 100 ||
		got.GetDisplayName() != "Front tyre pressure" {
		t.Errorf("override gave %v", got)
	}
	if got := characteristic(first.Sheet().Characteristics, "front_tyre_pressure"); got.GetLimits().GetUpper() != 110 {
		t.Errorf("override changed the base: %v", got)
	}
	if characteristic(second.Sheet().Characteristics, "battery_voltage") != nil {
		t.Error("battery_voltage is not removed")
	}
	if n := len(second.Sheet().Examples); n != 0 {
		t.Errorf("%d examples are inherited", n)
	}
	if len(second.Sheet().Options) != len(first.Sheet().Options) || second.Sheet().GetMake() != "Tarn Works" {
		t.Error("the rest is not inherited")
	}
	if got := second.Sheet().GetLeastTimes(); len(got) != 2 || got[0].GetMinutes() != 100 {
		t.Errorf("least times that the head does not give are inherited, got %v", got)
	}
	// Derived from what is derived.
	if characteristic(us.Sheet().Characteristics, "battery_voltage") != nil || us.Sheet().GetMarket() != "US" {
		t.Error("the sheet for the other market is not built on revision 2")
	}
	if got := us.Sheet().GetBulletins(); len(got) != 1 || got[0].GetId() != "b2027_01" {
		t.Errorf("a list in the head replaces the whole list, got %v", got)
	}
	if got := us.Sheet().GetLeastTimes(); len(got) != 1 || got[0].GetPhase() != pb.Phase_PHASE_HANDOVER || got[0].GetMinutes() != 25 {
		t.Errorf("least times in the head replace all, got %v", got)
	}
}

func mustRevision(t testing.TB, l *spec.Library, id string, number int) *spec.Revision {
	t.Helper()
	r, err := l.Revision(id, number)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

const smallSheet = `sheet:
  spec_id: a-2026-eu
  revision: 1
  effective_time: 2026-01-01T00:00:00Z
  change_note: First.
  source_document: Invented
  invented: true
  make: M
  model: A
  model_year: 2026
  market: EU
  vin: {patterns: ["0TW??????????????"]}
  characteristics:
    - id: oil
      display_name: Oil
      group: FLUIDS
      limits: {lower: 1, upper: 2, unit: L}
      capacity: {fluid: Oil}
      severity: DAMAGE
      source: S
  rules:
    - {id: r1, expression: "oil > 1.0", message: m, remedy: r, severity: DAMAGE, source: s}
`

func TestLoadRefuses(t *testing.T) {
	derive := func(base, revision, rest string) string {
		return "derived:\n  base_spec_id: " + base + "\n  base_revision: " + revision + "\n" + rest
	}
	for name, test := range map[string]struct {
		files map[string]string
		want  []string
	}{
		"not a sheet":  {map[string]string{"b": "sheat: {}\n"}, []string{`sheets/b.yaml:1:1: unknown field "sheat"; did you mean sheet?`}},
		"empty":        {map[string]string{"b": ""}, []string{"sheets/b.yaml: the document is empty"}},
		"neither":      {map[string]string{"b": "{}"}, []string{`sheets/b.yaml:1:1: want "sheet" or "derived"`}},
		"twice":        {map[string]string{"b": smallSheet}, []string{"sheets/b.yaml:3:13: sheet.revision: a-2026-eu revision 1 is in sheets/a.yaml already"}},
		"missing base": {map[string]string{"b": derive("a-2026-us", "1", "  head: {revision: 2}\n")}, []string{`sheets/b.yaml:2:17: derived.base_spec_id: there is no a-2026-us revision 1 to build on; did you mean "a-2026-eu revision 1"?`}},
		"on itself":    {map[string]string{"b": derive("a-2026-eu", "1", "")}, []string{"sheets/b.yaml:1:1: derived.head.revision: a sheet cannot build on itself: want another spec_id or revision than a-2026-eu revision 1"}},
		"shape":        {map[string]string{"b": derive("''", "0", "")}, []string{"sheets/b.yaml:2:17: derived.base_spec_id: value is required", "sheets/b.yaml:3:18: derived.base_revision: must be greater than or equal to 1"}},
		"circle": {map[string]string{
			"b": derive("a-2026-eu", "3", "  head: {revision: 2}\n"),
			"c": derive("a-2026-eu", "2", "  head: {revision: 3}\n"),
			"d": derive("a-2026-eu", "3", "  head: {revision: 4}\n"),
		}, []string{
			"sheets/b.yaml:2:17: derived.base_spec_id: sheets build on each other in a circle: a-2026-eu revision 2, which builds on a-2026-eu revision 3, which builds on a-2026-eu revision 2",
			"sheets/d.yaml:2:17: derived.base_spec_id: a-2026-eu revision 3, which it builds on, cannot be used",
		}},
		"amendment": {map[string]string{"b": derive("a-2026-eu", "1", "  head: {revision: 2}\n  amendment:\n    override:\n      - id: oill\n    remove: [water]\n    remove_rules: [r2]\n")}, []string{
			`sheets/b.yaml:7:13: derived.amendment.override[0].id: cannot change "oill": there is no such characteristic; did you mean "oil"?`,
			`sheets/b.yaml:8:14: derived.amendment.remove[0]: cannot remove "water": there is no such characteristic`,
			`sheets/b.yaml:9:20: derived.amendment.remove_rules[0]: got "r2", want a rule that is there`,
		}},
		"override without a limit": {map[string]string{"b": derive("a-2026-eu", "1", "  head: {revision: 2}\n  amendment:\n    override:\n      - id: oil\n        limits: {lower: 3, upper: 2, unit: L}\n")}, []string{
			"sheets/b.yaml:8:9: characteristics[0].limits: the lower limit is above the upper limit",
		}},
		"problem of the base": {map[string]string{
			"a": strings.Replace(smallSheet, "unit: L", "unit: mm", 1),
			"b": derive("a-2026-eu", "1", "  head: {revision: 2, effective_time: 2026-02-01T00:00:00Z}\n"),
		}, []string{`sheets/a.yaml:17:42: characteristics[0].limits.unit: got "mm", which is a length, want a volume or a mass`}},
		"problem of an addition": {map[string]string{"b": derive("a-2026-eu", "1", "  head: {revision: 2}\n  amendment:\n    add:\n      - {id: x, display_name: X, group: FLUIDS, severity: DAMAGE, source: s, measured: {}, limits: {lower: 1, unit: ells}}\n")}, []string{
			`sheets/b.yaml:7:117: characteristics[1].limits.unit: unknown unit "ells"`,
		}},
		"problem of the head": {map[string]string{"b": derive("a-2026-eu", "1", "  head:\n    revision: 2\n    market: US\n")}, []string{
			"sheets/a.yaml:12:3: vin.check_digit: got false, want true: market US requires it (49 CFR 565.15; CMVSS 115)",
		}},
		"least time twice in the head": {map[string]string{"b": derive("a-2026-eu", "1", "  head:\n    revision: 2\n    least_times:\n      - {phase: service, minutes: 40}\n      - {phase: service, minutes: 50}\n")}, []string{
			"sheets/b.yaml:8:17: least_times[1].phase: service has a least time already, at least_times[0]",
		}},
		"least time twice in the base": {map[string]string{
			"a": strings.Replace(smallSheet, "  characteristics:\n", "  least_times: [{phase: service, minutes: 40}, {phase: service, minutes: 50}]\n  characteristics:\n", 1),
			"b": derive("a-2026-eu", "1", "  head: {revision: 2, effective_time: 2026-02-01T00:00:00Z}\n"),
		}, []string{"sheets/a.yaml:13:56: least_times[1].phase: service has a least time already, at least_times[0]"}},
		"all files": {map[string]string{"b": "x: 1\n", "c": "y: 1\n", "sub/d": "- 1\n"}, []string{
			`sheets/b.yaml:1:1: unknown field "x"; want one of sheet, derived`,
			`sheets/c.yaml:1:1: unknown field "y"; want one of sheet, derived`,
			"sheets/sub/d.yaml:1:1: got a list, want fields such as sheet, derived",
		}},
	} {
		t.Run(name, func(t *testing.T) {
			fsys := fstest.MapFS{"sheets/a.yaml": {Data: []byte(smallSheet)}, "sheets/ignored.txt": {Data: []byte("x")}}
			for file, text := range test.files {
				fsys["sheets/"+file+".yaml"] = &fstest.MapFile{Data: []byte(text)}
			}
			revs, err := spec.Load(fsys)
			var invalid *spec.SheetError
			if !errors.As(err, &invalid) || revs != nil {
				t.Fatalf("got %v, %v, want a *SheetError", revs, err)
			}
			if got := strings.Split(err.Error(), "\n"); !slices.Equal(got, test.want) {
				t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(test.want, "\n"))
			}
		})
	}
	if _, err := spec.Load(fstest.MapFS{}); err == nil {
		t.Error("a file system without sheets is accepted")
	}
}

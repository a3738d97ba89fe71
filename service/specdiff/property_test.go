package specdiff_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/specdiff"
)

const (
	appeared  = pb.ChangeKind_CHANGE_KIND_APPEARED
	vanished  = pb.ChangeKind_CHANGE_KIND_VANISHED
	tightened = pb.ChangeKind_CHANGE_KIND_TIGHTENED
	loosened  = pb.ChangeKind_CHANGE_KIND_LOOSENED
	shifted   = pb.ChangeKind_CHANGE_KIND_SHIFTED
	reworded  = pb.ChangeKind_CHANGE_KIND_REWORDED
)

// mirror is a difference read the other way round, in the order of
// identifiers, without sentences and names.
func mirror(diff *pb.SpecDiff) *pb.SpecDiff {
	kinds := map[pb.ChangeKind]pb.ChangeKind{
		appeared: vanished, vanished: appeared, tightened: loosened, loosened: tightened, shifted: shifted, reworded: reworded,
	}
	// Each direction tells in the order of its target and names things by it.
	fields := func(list []*pb.FieldChange) []*pb.FieldChange {
		var turned []*pb.FieldChange
		for _, f := range list {
			turned = append(turned, &pb.FieldChange{Field: f.GetField(), Before: f.GetAfter(), After: f.GetBefore()})
		}
		slices.SortFunc(turned, func(a, b *pb.FieldChange) int { return strings.Compare(a.GetField(), b.GetField()) })
		return turned
	}
	items := func(list []*pb.ItemChange) []*pb.ItemChange {
		var turned []*pb.ItemChange
		for _, i := range list {
			turned = append(turned, &pb.ItemChange{Id: i.GetId(), Kind: kinds[i.GetKind()], Fields: fields(i.GetFields())})
		}
		slices.SortFunc(turned, func(a, b *pb.ItemChange) int { return strings.Compare(a.GetId(), b.GetId()) })
		return turned
	}
	turned := &pb.SpecDiff{
		Base: diff.GetTarget(), Target: diff.GetBase(), BaseDigest: diff.GetTargetDigest(), TargetDigest: diff.GetBaseDigest(),
		Head: fields(diff.GetHead()), Options: items(diff.GetOptions()), Bulletins: items(diff.GetBulletins()), Rules: items(diff.GetRules()),
	}
	for _, ch := range diff.GetCharacteristics() {
		turned.Characteristics = append(turned.Characteristics, &pb.CharacteristicChange{
			Characteristic: ch.GetCharacteristic(), Kind: kinds[ch.GetKind()], Fields: fields(ch.GetFields()),
		})
	}
	slices.SortFunc(turned.Characteristics, func(a, b *pb.CharacteristicChange) int {
		return strings.Compare(a.GetCharacteristic(), b.GetCharacteristic())
	})
	return turned
}

func checkMirrored(t rapid.TB, a, b *spec.Revision, units quantity.System) {
	t.Helper()
	there, back := specdiff.Compare(a, b, units), specdiff.Compare(b, a, units)
	if once, twice := mirror(back), mirror(mirror(there)); !proto.Equal(once, twice) {
		t.Fatalf("%s and %s: %s", a.Name(), b.Name(), cmp.Diff(twice, once, protocmp.Transform()))
	}
}

func TestSameIsEmpty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawSheet(t)
		want := &pb.SpecDiff{Base: r.Name(), Target: r.Name(), BaseDigest: r.Digest(), TargetDigest: r.Digest()}
		if diff := cmp.Diff(want, specdiff.Compare(r, r, quantity.Metric), protocmp.Transform()); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestMirrored(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkMirrored(t, drawSheet(t), drawSheet(t), quantity.System(rapid.IntRange(0, 1).Draw(t, "system")))
	})
}

func TestDemoSheetsMirrored(t *testing.T) {
	revisions := demoRevisions(t)
	for _, a := range revisions {
		for _, b := range revisions {
			checkMirrored(t, a, b, quantity.Metric)
			for _, ch := range specdiff.Compare(a, b, quantity.USCustomary).GetCharacteristics() {
				checkSentence(t, ch.GetText())
			}
		}
	}
}

func checkSentence(t *testing.T, text string) {
	t.Helper()
	if !strings.HasSuffix(text, ".") || strings.Contains(text, "NaN") || strings.Contains(text, "  ") ||
		strings.Contains(text, " ;") || strings.Contains(text, ": ;") || strings.Contains(text, "unspecified") {
		t.Errorf("no sentence: %q", text)
	}
}

// judged tells, by a check of its own, whether a value in the unit of the first
// characteristic is accepted by the second under simple acceptance.
func judged(t *rapid.T, v float64, unit string, ch *pb.Characteristic) bool {
	from, to := quantity.MustUnit(unit), quantity.MustUnit(ch.GetLimits().GetUnit())
	v, err := from.Convert(v, to)
	if err != nil {
		t.Fatal(err)
	}
	ok := (ch.GetLimits().Lower == nil || v >= ch.GetLimits().GetLower()) && (ch.GetLimits().Upper == nil || v <= ch.GetLimits().GetUpper())
	if c := ch.GetCapacity(); c != nil && c.SafeFill != nil {
		ok = ok && v <= c.GetSafeFill()
	}
	return ok
}

// A population of readings is judged by both sheets: of a number that is
// tightened, whatever passes now passed before; loosened, whatever passed before
// passes now; reworded, the same passes.
func TestPopulation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base, target := drawSheet(t), drawSheet(t)
		told := make(map[string]pb.ChangeKind)
		for _, ch := range specdiff.Compare(base, target, quantity.Metric).GetCharacteristics() {
			told[ch.GetCharacteristic()] = ch.GetKind()
		}
		for _, before := range base.Sheet().GetCharacteristics() {
			for _, after := range target.Sheet().GetCharacteristics() {
				if before.GetId() == after.GetId() && before.GetLimits() != nil && after.GetLimits() != nil && sameKind(before, after) {
					checkPopulation(t, before, after, told[before.GetId()])
				}
			}
		}
	})
}

func sameKind(a, b *pb.Characteristic) bool {
	kind := func(ch *pb.Characteristic) any {
		m := ch.ProtoReflect()
		return m.WhichOneof(m.Descriptor().Oneofs().ByName("kind"))
	}
	return kind(a) == kind(b)
}

func checkPopulation(t *rapid.T, before, after *pb.Characteristic, kind pb.ChangeKind) {
	unit := after.GetLimits().GetUnit()
	for v := 0.0; v < 20; v += 0.25 {
		for _, nudge := range []float64{0, -1e-6, 1e-6} {
			now, was := judged(t, v+nudge, unit, after), judged(t, v+nudge, unit, before)
			fault := kind == tightened && now && !was || kind == loosened && was && !now ||
				(kind == reworded || kind == pb.ChangeKind_CHANGE_KIND_UNSPECIFIED) && was != now
			if fault {
				t.Fatalf("%s is %s, but %g %s: accepted before %t, now %t\n%v\n%v", after.GetId(), kind, math.Round(v*1e6)/1e6, unit, was, now, before, after)
			}
		}
	}
}

// Whatever differs is told, and told in a sentence.
func TestSentences(t *testing.T) {
	revisions := demoRevisions(t)
	for _, r := range revisions {
		diff := specdiff.Compare(revisions[0], r, quantity.Metric)
		for _, item := range slices.Concat(diff.GetOptions(), diff.GetBulletins(), diff.GetRules()) {
			checkSentence(t, item.GetText())
			if len(item.GetFields()) == 0 {
				t.Errorf("no field differs: %v", item)
			}
		}
	}
}

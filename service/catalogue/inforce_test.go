package catalogue

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
	"github.com/snapgauge/snapgauge/service/vin"
)

// running returns sheet n as one of several specs of the model "Tarn 1", for a
// range of serials.
func running(n, revision, day int, from, to string) *pb.SpecSheet {
	s := sheet(n, revision, day)
	s.Model = "Tarn 1"
	s.Vin.SerialFrom, s.Vin.SerialTo = from, to
	return s
}

func serial(n int) string { return fmt.Sprintf("%06d", n) }

func unitOf(n int) vin.VIN { return vin.VIN(unit[:11] + serial(n)) }

// TestInForceAgainstReference does random things to three specs of one model and
// holds every answer to one that is found by trying all revisions there are in
// the store.
func TestInForceAgainstReference(t *testing.T) {
	t.Parallel()
	// Of each spec: the serials that it covers. The second and third overlap.
	ranges := [][2]int{{0, 499}, {500, 799}, {700, 999}}
	rapid.Check(t, func(t *rapid.T) {
		model := storetest.NewModel()
		clock := storetest.Base
		c, err := Open(context.Background(), model, Config{Now: func() time.Time { return clock }, Poll: time.Hour})
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		specs := rapid.IntRange(1, len(ranges)).Draw(t, "specs")
		for range rapid.IntRange(1, 14).Draw(t, "steps") {
			n := rapid.IntRange(0, specs-1).Draw(t, "spec")
			id := storetest.SpecID(n)
			clock = clock.Add(time.Duration(rapid.IntRange(0, 3).Draw(t, "hours")) * time.Hour)
			history, _ := model.SpecHistory(context.Background(), id)
			if len(history) > 0 && rapid.IntRange(0, 2).Draw(t, "withdraw") == 0 {
				revision := rapid.IntRange(1, len(history)).Draw(t, "revision")
				if _, err := c.Withdraw(context.Background(), id, revision, "misprint"); err != nil {
					t.Fatal(err)
				}
				continue
			}
			s := running(n, len(history)+1, rapid.IntRange(0, 6).Draw(t, "day"), serial(ranges[n][0]), serial(ranges[n][1]))
			etag := ""
			if len(history) > 0 {
				etag = history[0].Etag
			}
			// Past the catalogue, which refuses what overlaps.
			_, _, err := model.PublishSpec(context.Background(), store.PublishedSpec{Sheet: s, RecordedTime: clock}, etag)
			if err != nil && !errors.Is(err, store.ErrEffectiveTime) {
				t.Fatal(err)
			}
		}
		if err := c.Level(context.Background()); err != nil {
			t.Fatal(err)
		}
		for range 12 {
			q := about(1)
			q.AsOf = day0(rapid.IntRange(-1, 7).Draw(t, "as of"))
			if rapid.Bool().Draw(t, "look back") {
				q.Known = storetest.Base.Add(time.Duration(rapid.IntRange(-1, 40).Draw(t, "known")) * time.Hour)
			}
			at := rapid.IntRange(-1, 1100).Draw(t, "serial")
			if q.VIN = ""; at >= 0 {
				q.VIN = unitOf(at)
			}
			// The reference.
			inForce := make(map[string]int)
			var ids, covering []string
			widest, width := "", -1
			for n := range specs {
				id := storetest.SpecID(n)
				history, _ := model.SpecHistory(context.Background(), id)
				if len(history) > 0 {
					ids = append(ids, id)
				}
				for _, p := range history { // oldest last
					known := q.Known
					if known.IsZero() {
						known = day0(10_000)
					}
					if p.EffectiveTime.After(q.AsOf) || p.RecordedTime.After(known) || p.Withdrawn != nil && !p.Withdrawn.After(known) {
						continue
					}
					inForce[id] = p.Revision
					if at >= ranges[n][0] && at <= ranges[n][1] {
						covering = append(covering, id)
					}
					if w := ranges[n][1] - ranges[n][0]; w > width {
						widest, width = id, w
					}
					break
				}
			}
			want := widest
			if len(covering) == 1 {
				want = covering[0]
			}
			got, err := c.InForce(context.Background(), q)
			var missing *spec.NotFoundError
			var notYet *spec.NotInForceError
			var ambiguous *AmbiguousError
			switch {
			case len(ids) == 0:
				if !errors.As(err, &missing) {
					t.Fatalf("got %+v, error %v, wanted NotFoundError", got, err)
				}
			case len(inForce) == 0:
				if !errors.As(err, &notYet) || notYet.First.IsZero() {
					t.Fatalf("got %+v, error %v, wanted NotInForceError", got, err)
				}
			case len(covering) > 1:
				if !errors.As(err, &ambiguous) || !slices.Equal(ambiguous.SpecIDs, covering) {
					t.Fatalf("got %+v, error %v, wanted AmbiguousError of %v", got, err, covering)
				}
			default:
				if err != nil || got.SpecID != want || got.Revision != inForce[want] {
					t.Fatalf("%+v: got %+v, error %v, wanted %s revision %d", q, got, err, want, inForce[want])
				}
			}
			for id, revision := range inForce {
				got, err := c.InForceByID(context.Background(), id, q.AsOf, q.Known)
				if err != nil || got.Revision != revision || got.SpecID != id {
					t.Fatalf("InForceByID %s: got %+v, error %v, wanted revision %d", id, got, err, revision)
				}
				p, err := model.Spec(context.Background(), id, revision)
				if err != nil || got.Digest != p.Digest {
					t.Fatalf("InForceByID %s: got digest %s, error %v, wanted %s", id, got.Digest, err, p.Digest)
				}
			}
		}
		for n := range specs {
			want, _ := model.SpecHistory(context.Background(), storetest.SpecID(n))
			got, err := c.History(storetest.SpecID(n))
			if len(want) != len(got) {
				t.Fatalf("got %d revisions, error %v, wanted %d", len(got), err, len(want))
			}
			for i, h := range got {
				if fmt.Sprintf("%+v", forPrint(h.PublishedSpec)) != fmt.Sprintf("%+v", forPrint(want[i])) {
					t.Fatalf("history: got %+v, wanted %+v", forPrint(h.PublishedSpec), forPrint(want[i]))
				}
			}
		}
	})
}

// forPrint puts the time of withdrawal where it can be seen.
func forPrint(p store.PublishedSpec) any {
	withdrawn := time.Time{}
	if p.Withdrawn != nil {
		withdrawn = *p.Withdrawn
	}
	p.Withdrawn = nil
	return [2]any{p, withdrawn}
}

func TestWhy(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	clock := day0(100)
	c := open(t, model, Config{Now: func() time.Time { return clock }})
	publish(t, c, sheet(1, 1, 1))
	publish(t, c, sheet(1, 2, 10))
	publish(t, c, sheet(1, 3, 20))
	clock = day0(101).Add(90 * time.Minute)
	if _, err := c.Withdraw(context.Background(), storetest.SpecID(1), 2, "The torque of the stem nut was misprinted."); err != nil {
		t.Fatal(err)
	}
	publish(t, c, sheet(2, 1, 1))
	if _, err := c.Withdraw(context.Background(), storetest.SpecID(2), 1, strings.Repeat("é", 1000)); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		model       int
		asOf, known time.Time
		want        string
	}{
		{1, day0(5), time.Time{}, "revision 1 of tarn-1-2026-eu, in force from 2026-03-02; revision 3 begins 2026-03-21"},
		{1, day0(15), time.Time{}, "revision 1 of tarn-1-2026-eu, in force from 2026-03-02; " +
			"revision 2 was withdrawn on 2026-06-10T01:30:00Z (The torque of the stem nut was misprinted.); revision 3 begins 2026-03-21"},
		{1, day0(15), day0(100), "revision 2 of tarn-1-2026-eu, in force from 2026-03-11; revision 3 begins 2026-03-21"},
		{1, day0(25), time.Time{}, "revision 3 of tarn-1-2026-eu, in force from 2026-03-21"},
		{1, time.Time{}, time.Time{}, "revision 3 of tarn-1-2026-eu, in force from 2026-03-21"},
		{1, day0(0), time.Time{}, "spec tarn-1-2026-eu was not in force on 2026-03-01T00:00:00Z: its first revision holds from 2026-03-02T00:00:00Z"},
		{1, day0(5), day0(99), "spec tarn-1-2026-eu has no revision in force on 2026-03-06: revision 1 was recorded only on 2026-06-09"},
		{2, day0(5), time.Time{}, "spec tarn-2-2026-eu has no revision in force on 2026-03-06: revision 1 was withdrawn on 2026-06-10T01:30:00Z (" +
			strings.Repeat("é", 100) + "…)"},
		{2, day0(0), time.Time{}, "spec tarn-2-2026-eu has no revision in force on 2026-03-01: every revision was withdrawn"},
		{7, day0(5), time.Time{}, `no model "Tarn 7" of 2026 in EU; did you mean Tarn 1 or Tarn 2?`},
	} {
		q := about(test.model)
		q.AsOf, q.Known = test.asOf, test.known
		choice, err := c.InForce(context.Background(), q)
		got := choice.Why
		if err != nil {
			got = err.Error()
		}
		if got != test.want {
			t.Errorf("model %d as of %v, known %v:\ngot  %s\nwant %s", test.model, test.asOf, test.known, got, test.want)
		}
		var notInForce *spec.NotInForceError
		if err != nil && test.model < 3 && (!errors.As(err, &notInForce) || notInForce.Spec != storetest.SpecID(test.model)) {
			t.Errorf("got %T, wanted a *spec.NotInForceError in it", err)
		}
	}
	if _, err := c.InForceByID(context.Background(), "tarn-11-2026-eu", day0(5), time.Time{}); err == nil ||
		err.Error() != `no spec "tarn-11-2026-eu"; did you mean tarn-1-2026-eu or tarn-2-2026-eu?` {
		t.Errorf("got %v", err)
	}
	if _, err := c.ByNumber(storetest.SpecID(1), 4); err == nil ||
		err.Error() != `no revision 4 of spec "tarn-1-2026-eu"; did you mean specs/tarn-1-2026-eu/revisions/3?` {
		t.Errorf("got %v", err)
	}
}

// TestRunningChange chooses among specs of one model by the VIN.
func TestRunningChange(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	fill(t, model,
		running(1, 1, 1, "", ""), running(1, 2, 10, "", serial(4999)), running(2, 1, 10, serial(5000), serial(5999)),
		running(3, 1, 20, serial(5500), serial(7000)))
	c := open(t, model, Config{})
	const of2, of3 = "of 2 specs of this model it is the one that covers the VIN ", "of 3 specs of this model it is the one that covers the VIN "
	for _, test := range []struct {
		day  int
		vin  vin.VIN
		want string // spec, revision and what is said of the VIN
	}{
		{5, unitOf(5100), "tarn-1-2026-eu 1 "},
		{5, "", "tarn-1-2026-eu 1 "},
		{15, unitOf(100), "tarn-1-2026-eu 2 " + of2 + string(unitOf(100))},
		{15, unitOf(5100), "tarn-2-2026-eu 1 " + of2 + string(unitOf(5100))},
		{15, "", "tarn-1-2026-eu 2 no VIN is known, and of the 2 there are this one covers most"},
		{15, unitOf(9000), "tarn-1-2026-eu 2 no spec of this model covers the VIN " + string(unitOf(9000)) + ", and of the 2 there are this one covers most"},
		{25, unitOf(5400), "tarn-2-2026-eu 1 " + of3 + string(unitOf(5400))},
		{25, unitOf(5500), `2 specs of model "Tarn 1" of 2026 in EU cover the VIN ` + string(unitOf(5500)) + ": tarn-2-2026-eu, tarn-3-2026-eu"},
	} {
		q := about(1)
		q.AsOf, q.VIN = day0(test.day), test.vin
		choice, err := c.InForce(context.Background(), q)
		clauses := strings.Split(choice.Why, "; ")
		note := clauses[len(clauses)-1]
		if !strings.Contains(note, "VIN") {
			note = ""
		}
		got := fmt.Sprintf("%s %d %s", choice.SpecID, choice.Revision, note)
		if err != nil {
			got = err.Error()
		}
		if got != test.want {
			t.Errorf("day %d, VIN %q:\ngot  %s\nwant %s", test.day, test.vin, got, test.want)
		}
	}
	// Alone, it is chosen for whatever VIN, and says so.
	q := about(1)
	q.AsOf, q.VIN = day0(5), "0XX0000A0T0000123"
	if choice, err := c.InForce(context.Background(), q); err != nil ||
		!strings.HasSuffix(choice.Why, "it does not cover the VIN 0XX0000A0T0000123, and there is no other spec of this model") {
		t.Errorf("got %+v, error %v", choice, err)
	}
	// A person is told so instead.
	if _, err := c.Seek(context.Background(), q); err == nil || !strings.Contains(err.Error(), "that covers the unit") {
		t.Errorf("got %v", err)
	}
}

// TestMatchesAsLibrary asks a catalogue and a [spec.Library] of the same sheets
// for the same models, well written and badly.
func TestMatchesAsLibrary(t *testing.T) {
	t.Parallel()
	makes := []string{"Sample Works", "Ålund", "Sample"}
	names := []string{"Tarn 250", "Tarn 250 R", "tarn-300", "Scree 20i", "Œuvre", "Fjäll", "Tarn", "250", "Weiß's 1.5", "Strømme 12,5 x"}
	stubs := make(map[string]*spec.Revision) // linting takes its time
	rapid.Check(t, func(t *rapid.T) {
		var revisions []*spec.Revision
		model := storetest.NewModel()
		for n := range rapid.IntRange(1, 6).Draw(t, "specs") {
			s := sheet(n, 1, 1)
			s.Make = rapid.SampledFrom(makes).Draw(t, "make")
			s.Model = rapid.SampledFrom(names).Draw(t, "model")
			s.ModelAliases = rapid.SliceOfN(rapid.SampledFrom(names), 0, 2).Draw(t, "aliases")
			s.ModelYear = int32(rapid.IntRange(2025, 2027).Draw(t, "year"))
			s.Market = rapid.SampledFrom([]string{"EU", "GB"}).Draw(t, "market")
			s.EffectiveTime = timestamppb.New(day0(rapid.IntRange(0, 3).Draw(t, "day")))
			s.Vin.Patterns[0] = rapid.SampledFrom([]string{"0VS??????T???????", "0VS??????V???????"}).Draw(t, "pattern")
			key := s.String()
			if stubs[key] == nil {
				stubs[key] = mustRevision(t, s)
			}
			if _, err := spec.NewLibrary(append(revisions, stubs[key])); err != nil {
				continue // as another of them
			}
			revisions = append(revisions, stubs[key])
			fill(t, model, s)
		}
		library, err := spec.NewLibrary(revisions)
		if err != nil {
			t.Fatal(err)
		}
		c, err := Open(context.Background(), model, Config{})
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		for range 8 {
			text := rapid.SampledFrom(names).Draw(t, "asked")
			if rapid.Bool().Draw(t, "with the maker") {
				text = rapid.SampledFrom(makes).Draw(t, "maker") + " " + text
			}
			switch letters := []rune(text); rapid.IntRange(0, 6).Draw(t, "change") {
			case 0:
				text = strings.ToUpper(strings.ReplaceAll(text, " ", "-"))
			case 1:
				text = string(letters[:rapid.IntRange(0, len(letters)).Draw(t, "cut")])
			case 2:
				i := rapid.IntRange(0, len(letters)-1).Draw(t, "left out")
				text = string(slices.Delete(letters, i, i+1))
			case 3:
				letters[rapid.IntRange(0, len(letters)-1).Draw(t, "wrong")] = rapid.RuneFrom([]rune("aex25 ")).Draw(t, "letter")
				text = string(letters)
			case 4:
				text += rapid.SampledFrom([]string{" 2026", " 2027", " 2001"}).Draw(t, "with a year")
			case 5:
				text = rapid.String().Draw(t, "anything")
			}
			q := Query{
				Model: text, ModelYear: rapid.IntRange(2025, 2027).Draw(t, "year"),
				Market: rapid.SampledFrom([]string{"EU", "GB"}).Draw(t, "market"), AsOf: day0(rapid.IntRange(1, 4).Draw(t, "as of")),
			}
			r, err := library.InForce(q.Model, q.ModelYear, q.Market, q.AsOf)
			choice, gotErr := c.InForce(context.Background(), q)
			agree(t, fmt.Sprintf("InForce %+v", q), r, err, choice, gotErr)

			if rapid.Bool().Draw(t, "any year") {
				q.ModelYear = 0
			}
			if rapid.Bool().Draw(t, "any market") {
				q.Market = ""
			}
			if rapid.IntRange(0, 3).Draw(t, "by identifier") == 0 {
				q.Model = storetest.SpecID(rapid.IntRange(0, 6).Draw(t, "identifier"))
			}
			if rapid.Bool().Draw(t, "a unit") {
				q.VIN = unit
			}
			r, _, err = library.LookUp(spec.Query{Model: q.Model, ModelYear: q.ModelYear, Market: q.Market, VIN: q.VIN, AsOf: q.AsOf, Words: "gap"})
			choice, gotErr = c.Seek(context.Background(), q)
			agree(t, fmt.Sprintf("Seek %+v", q), r, err, choice, gotErr)
		}
	})
}

func agree(t tester, what string, want *spec.Revision, wantErr error, got Choice, err error) {
	t.Helper()
	if wantErr != nil || err != nil {
		if fmt.Sprint(err) != fmt.Sprint(wantErr) || fmt.Sprintf("%T", err) != fmt.Sprintf("%T", wantErr) {
			t.Fatalf("%s:\ngot error  %v\nthe library %v", what, err, wantErr)
		}
		return
	}
	if got.SpecID != want.SpecID() || got.Digest != want.Digest() {
		t.Fatalf("%s: got %s, the library %s", what, got.SpecID, want.SpecID())
	}
}

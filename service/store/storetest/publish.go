package storetest

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

var publishTests = []namedSpecTest{
	{"KeepsAll", publishKeepsAll},
	{"Again", publishAgain},
	{"Etag", publishEtag},
	{"Number", publishNumber},
	{"Effective", publishEffective},
	{"Recorded", publishRecorded},
	{"Refusals", publishRefusals},
	{"Race", publishRace},
	{"RaceAgain", publishRaceAgain},
	{"Big", publishBig},
	{"Unusual", publishUnusual},
}

func publishKeepsAll(t *testing.T, open specOpener) {
	s := open(t)
	p := Revision(1, 1)
	p.Sheet.EffectiveTime.Nanos = 1999
	p.RecordedTime = p.RecordedTime.Add(2999).In(time.FixedZone("", 3600))
	digest, err := spec.Digest(p.Sheet)
	if err != nil {
		t.Fatal(err)
	}
	sheet := proto.CloneOf(p.Sheet)
	want := store.PublishedSpec{
		SpecID: SpecID(1), Revision: 1, Digest: digest,
		Make: "Sample Works", Model: "Tarn 1", ModelYear: 2026, Market: "EU",
		ChangeNote: sheet.ChangeNote, SourceDocument: sheet.SourceDocument, CharacteristicCount: 3,
		EffectiveTime: Base.AddDate(0, 0, 1).Add(time.Microsecond), RecordedTime: Revision(1, 1).RecordedTime.Add(2 * time.Microsecond),
		Position: 1, Etag: store.SpecEtag(digest, false), Sheet: sheet,
	}
	stored := mustPublish(t, s, p, "")
	if !proto.Equal(sheet, p.Sheet) {
		t.Error("PublishSpec changed the sheet that it was given")
	}
	for name, got := range map[string]store.PublishedSpec{"PublishSpec": stored, "Spec": mustSpec(t, s, SpecID(1), 1)} {
		if diff := difference(want, got); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", name, diff)
		}
		if got.EffectiveTime.Location() != time.UTC || got.RecordedTime.Location() != time.UTC {
			t.Errorf("%s: got times in %v and %v, wanted UTC", name, got.EffectiveTime.Location(), got.RecordedTime.Location())
		}
	}
	if diff := difference([]store.PublishedSpec{withoutSheet(want)}, mustHistory(t, s, SpecID(1))); diff != "" {
		t.Errorf("SpecHistory: (-want +got)\n%s", diff)
	}
	change := store.Change{
		Position: 1, Kind: store.Published, SpecID: SpecID(1), Revision: 1, RecordedTime: want.RecordedTime,
		Digest: digest, Make: "Sample Works", Model: "Tarn 1", ModelYear: 2026, Market: "EU", EffectiveTime: want.EffectiveTime,
	}
	if diff := difference([]store.Change{change}, feed(t, s, 0, 10)); diff != "" {
		t.Errorf("SpecChanges: (-want +got)\n%s", diff)
	}

	second := mustPublish(t, s, Revision(1, 2), stored.Etag)
	if second.Etag == stored.Etag || second.Position != 2 {
		t.Errorf("got etag %q, position %d, wanted another etag and 2", second.Etag, second.Position)
	}
	want2 := []store.PublishedSpec{withoutSheet(second), withoutSheet(want)}
	if diff := difference(want2, mustHistory(t, s, SpecID(1))); diff != "" {
		t.Errorf("SpecHistory: (-want +got)\n%s", diff)
	}
	for _, missing := range []int{3, 0, -1, 1 << 40} {
		if _, err := s.Spec(context.Background(), SpecID(1), missing); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("revision %d: got %v, wanted ErrNotFound", missing, err)
		}
	}
	for _, id := range []string{SpecID(2), "", "no ' id", "\x00"} {
		_, specErr := s.Spec(context.Background(), id, 1)
		_, historyErr := s.SpecHistory(context.Background(), id)
		if !errors.Is(specErr, store.ErrNotFound) || !errors.Is(historyErr, store.ErrNotFound) {
			t.Errorf("%q: got %v and %v, wanted ErrNotFound", id, specErr, historyErr)
		}
	}
}

func publishAgain(t *testing.T, open specOpener) {
	s := open(t)
	steps := publishSteps(t, s, 1, 3)
	for _, ifMatch := range []string{"", steps[0].Etag, steps[2].Etag, "nonsense"} {
		again := Revision(1, 2)
		again.RecordedTime = again.RecordedTime.AddDate(1, 0, 0)
		got, created, err := s.PublishSpec(context.Background(), again, ifMatch)
		if err != nil || created {
			t.Fatalf("again: got created %t, error %v, wanted the earlier revision", created, err)
		}
		if diff := difference(steps[1], got); diff != "" {
			t.Errorf("(-first +again)\n%s", diff)
		}
	}
	// It comes back as it is now.
	mustWithdraw(t, s, SpecID(1), 2, "misprint", Base)
	got, created, err := s.PublishSpec(context.Background(), Revision(1, 2), steps[2].Etag)
	if err != nil || created || got.Withdrawn == nil {
		t.Errorf("again: got created %t, withdrawn %v, error %v", created, got.Withdrawn, err)
	}
	if changes := feed(t, s, 0, 10); len(changes) != 4 {
		t.Errorf("got %d changes, wanted 4", len(changes))
	}
}

func publishEtag(t *testing.T, open specOpener) {
	s := open(t)
	check := func(err error, revision int, etag string) {
		t.Helper()
		var changed *store.SpecChangedError
		if !errors.As(err, &changed) || changed.SpecID != SpecID(1) || changed.Draft || changed.Revision != revision || changed.Etag != etag {
			t.Errorf("got %+v, wanted revision %d and etag %q", err, revision, etag)
		}
	}
	check(refuses(t, s, Revision(1, 1), "x", store.ErrSpecChanged), 0, "")
	first := mustPublish(t, s, Revision(1, 1), "")
	check(refuses(t, s, Revision(1, 2), "", store.ErrSpecChanged), 1, first.Etag)
	second := mustPublish(t, s, Revision(1, 2), first.Etag)
	check(refuses(t, s, Revision(1, 3), first.Etag, store.ErrSpecChanged), 2, second.Etag)
	// Withdrawing an older revision does not touch the newest.
	mustWithdraw(t, s, SpecID(1), 1, "misprint", Base)
	third := mustPublish(t, s, Revision(1, 3), second.Etag)
	// Withdrawing the newest does.
	mustWithdraw(t, s, SpecID(1), 3, "misprint", Base)
	now := mustHistory(t, s, SpecID(1))[0].Etag
	if now == third.Etag {
		t.Error("the etag stayed when the revision was withdrawn")
	}
	check(refuses(t, s, Revision(1, 4), third.Etag, store.ErrSpecChanged), 3, now)
	mustPublish(t, s, Revision(1, 4), now)
	// Another spec is another matter.
	mustPublish(t, s, Revision(2, 1), "")
}

func publishNumber(t *testing.T, open specOpener) {
	s := open(t)
	refuses(t, s, Revision(1, 2), "", store.ErrRevisionNumber)
	first := mustPublish(t, s, Revision(1, 1), "")
	for _, number := range []int{1, 3, 100} {
		p := Revision(1, number)
		p.Sheet.ChangeNote = "other content"
		refuses(t, s, p, first.Etag, store.ErrRevisionNumber)
	}
	second := mustPublish(t, s, Revision(1, 2), first.Etag)
	// The number of a withdrawn revision is not used again.
	mustWithdraw(t, s, SpecID(1), 2, "misprint", Base)
	p := Revision(1, 2)
	p.Sheet.ChangeNote = "other content"
	refuses(t, s, p, mustHistory(t, s, SpecID(1))[0].Etag, store.ErrRevisionNumber)
	if second.Revision != 2 {
		t.Errorf("got revision %d", second.Revision)
	}
}

func publishEffective(t *testing.T, open specOpener) {
	s := open(t)
	at := func(n int, effective time.Time) store.PublishedSpec {
		p := Revision(1, n)
		p.Sheet.EffectiveTime = timestamppb.New(effective)
		return p
	}
	first := mustPublish(t, s, at(1, Base.AddDate(0, 1, 0)), "")
	refuses(t, s, at(2, Base), first.Etag, store.ErrEffectiveTime)
	refuses(t, s, at(2, Base.AddDate(0, 1, 0).Add(-time.Microsecond)), first.Etag, store.ErrEffectiveTime)
	// The same instant is allowed, and far ahead too.
	second := mustPublish(t, s, at(2, Base.AddDate(0, 1, 0)), first.Etag)
	third := mustPublish(t, s, at(3, Base.AddDate(50, 0, 0)), second.Etag)
	refuses(t, s, at(4, Base.AddDate(1, 0, 0)), third.Etag, store.ErrEffectiveTime)
	// Once withdrawn it stands in nobody's way; the one before it still does.
	mustWithdraw(t, s, SpecID(1), 3, "the year was a misprint", Base)
	etag := mustHistory(t, s, SpecID(1))[0].Etag
	refuses(t, s, at(4, Base), etag, store.ErrEffectiveTime)
	fourth := mustPublish(t, s, at(4, Base.AddDate(0, 2, 0)), etag)
	for n := 1; n <= 4; n++ {
		mustWithdraw(t, s, SpecID(1), n, "all wrong", Base)
	}
	etag = mustHistory(t, s, SpecID(1))[0].Etag
	if etag == fourth.Etag {
		t.Error("the etag stayed")
	}
	mustPublish(t, s, at(5, time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC)), etag)
}

// publishRecorded lets clocks disagree.
func publishRecorded(t *testing.T, open specOpener) {
	s := open(t)
	at := func(n int, recorded time.Time) store.PublishedSpec {
		p := Revision(n, 1)
		p.RecordedTime = recorded
		return p
	}
	mustPublish(t, s, at(1, Base.Add(time.Hour)), "")
	late := mustPublish(t, s, at(2, Base), "")
	if !late.RecordedTime.Equal(Base.Add(time.Hour)) || !mustSpec(t, s, SpecID(2), 1).RecordedTime.Equal(late.RecordedTime) {
		t.Errorf("got %v, wanted the time of the change before", late.RecordedTime)
	}
	change := mustWithdraw(t, s, SpecID(1), 1, "misprint", Base)
	if !change.RecordedTime.Equal(Base.Add(time.Hour)) || !mustSpec(t, s, SpecID(1), 1).Withdrawn.Equal(change.RecordedTime) {
		t.Errorf("got %v, wanted the time of the change before", change.RecordedTime)
	}
	if got := mustPublish(t, s, at(3, Base.Add(2*time.Hour)), "").RecordedTime; !got.Equal(Base.Add(2 * time.Hour)) {
		t.Errorf("got %v, wanted its own time", got)
	}
	feed(t, s, 0, 10)
}

func publishRefusals(t *testing.T, open specOpener) {
	s := open(t)
	now := Base
	for name, spoil := range map[string]func(*store.PublishedSpec){
		"no sheet":          func(p *store.PublishedSpec) { p.Sheet = nil },
		"no id":             func(p *store.PublishedSpec) { p.Sheet.SpecId = "" },
		"bad id":            func(p *store.PublishedSpec) { p.Sheet.SpecId = "Tarn 450" },
		"long id":           func(p *store.PublishedSpec) { p.Sheet.SpecId = strings.Repeat("a", 64) },
		"another id":        func(p *store.PublishedSpec) { p.SpecID = "another" },
		"another number":    func(p *store.PublishedSpec) { p.Revision = 2 },
		"another digest":    func(p *store.PublishedSpec) { p.Digest = strings.Repeat("0", 64) },
		"no number":         func(p *store.PublishedSpec) { p.Sheet.Revision = 0 },
		"negative number":   func(p *store.PublishedSpec) { p.Sheet.Revision = -1 },
		"number too great":  func(p *store.PublishedSpec) { p.Sheet.Revision = store.MaxRevision + 1 },
		"no beginning":      func(p *store.PublishedSpec) { p.Sheet.EffectiveTime = nil },
		"bad beginning":     func(p *store.PublishedSpec) { p.Sheet.EffectiveTime.Nanos = -1 },
		"no recorded time":  func(p *store.PublishedSpec) { p.RecordedTime = time.Time{} },
		"far recorded time": func(p *store.PublishedSpec) { p.RecordedTime = time.Unix(1<<60, 0) },
		"withdrawn":         func(p *store.PublishedSpec) { p.Withdrawn = &now },
		"no text":           func(p *store.PublishedSpec) { p.Sheet.ChangeNote = "\xff" },
	} {
		t.Run(name, func(t *testing.T) {
			p := Revision(1, 1)
			spoil(&p)
			refuses(t, s, p, "", store.ErrInvalidSpec)
		})
	}
}

// publishRace lets many publish different content with one etag.
func publishRace(t *testing.T, open specOpener) {
	s := open(t)
	etag := ""
	for revision := 1; revision <= 4; revision++ {
		const publishers = 16
		results := make([]error, publishers)
		won := make([]store.PublishedSpec, publishers)
		var wait sync.WaitGroup
		for i := range publishers {
			wait.Go(func() {
				p := Revision(1, revision)
				p.Sheet.ChangeNote = fmt.Sprintf("by publisher %d", i)
				won[i], _, results[i] = s.PublishSpec(context.Background(), p, etag)
			})
		}
		wait.Wait()
		winner := -1
		for i, err := range results {
			if err == nil {
				if winner >= 0 {
					t.Fatalf("revision %d: publishers %d and %d both won", revision, winner, i)
				}
				winner = i
			}
		}
		if winner < 0 {
			t.Fatalf("revision %d: nobody won: %v", revision, results)
		}
		for i, err := range results {
			var changed *store.SpecChangedError
			if err != nil && (!errors.As(err, &changed) || changed.Etag != won[winner].Etag || changed.Revision != revision) {
				t.Errorf("revision %d: publisher %d: got %v, wanted to be told of %q", revision, i, err, won[winner].Etag)
			}
		}
		if diff := difference(won[winner], mustSpec(t, s, SpecID(1), revision)); diff != "" {
			t.Errorf("revision %d: (-won +stored)\n%s", revision, diff)
		}
		etag = won[winner].Etag
	}
	CheckSpecs(t, s)
}

// publishRaceAgain lets many publish the same content: one creates it, all get
// it.
func publishRaceAgain(t *testing.T, open specOpener) {
	s := open(t)
	const publishers = 24
	created := make([]bool, publishers)
	var wait sync.WaitGroup
	for i := range publishers {
		wait.Go(func() {
			p, isNew, err := s.PublishSpec(context.Background(), Revision(i%2, 1), "")
			if err != nil || p.SpecID != SpecID(i%2) || p.Revision != 1 || p.Position < 1 {
				t.Errorf("publisher %d: got %s at %d, error %v", i, p.Name(), p.Position, err)
			}
			created[i] = isNew
		})
	}
	wait.Wait()
	count := 0
	for _, isNew := range created {
		if isNew {
			count++
		}
	}
	if changes := CheckSpecs(t, s); count != 2 || len(changes) != 2 {
		t.Errorf("got %d created and %d changes, wanted 2 and 2", count, len(changes))
	}
}

func publishBig(t *testing.T, open specOpener) {
	s := open(t)
	p := Revision(1, 1)
	p.Sheet = Sheet(1, 1, 1024)
	for _, c := range p.Sheet.Characteristics {
		c.Caution = strings.Repeat("ö", 500)
	}
	want := mustPublish(t, s, p, "")
	if diff := difference(want, mustSpec(t, s, SpecID(1), 1)); diff != "" {
		t.Errorf("(-want +got)\n%.2000s", diff)
	}
}

// publishUnusual keeps what lint would refuse but a message can say.
func publishUnusual(t *testing.T, open specOpener) {
	s := open(t)
	p := Revision(1, 1)
	p.Sheet.Make = "nul \x00 and ' quote \x01"
	p.Sheet.Model = "\u2028 </script> \U0001F3CD"
	p.Sheet.Market = ""
	p.Sheet.ModelYear = -1
	p.Sheet.ChangeNote = "\x00"
	p.Sheet.EffectiveTime = timestamppb.New(time.Date(9999, 12, 31, 23, 59, 59, 999_999_999, time.UTC))
	third, tiny, huge := 1.0/3, 5e-324, 1.7976931348623157e308
	p.Sheet.Characteristics = []*pb.Characteristic{{
		Severity: 99, Limits: &pb.Limits{Lower: &tiny, Nominal: &third, Upper: &huge},
	}}
	p.RecordedTime = time.Date(1, 1, 1, 0, 0, 0, 1000, time.UTC)
	want := mustPublish(t, s, p, "")
	if diff := difference(want, mustSpec(t, s, SpecID(1), 1)); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	if diff := difference([]store.PublishedSpec{withoutSheet(want)}, mustHistory(t, s, SpecID(1))); diff != "" {
		t.Errorf("history: (-want +got)\n%s", diff)
	}
	change := mustWithdraw(t, s, SpecID(1), 1, "nul \x00 too", Base)
	if got := feed(t, s, 1, 1); change.Reason != "nul \x00 too" || difference([]store.Change{change}, got) != "" || got[0].Make != p.Sheet.Make {
		t.Errorf("got %+v and %+v", change, got)
	}
}

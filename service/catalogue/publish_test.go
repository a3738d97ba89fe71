package catalogue

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

func TestPublish(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	link := &faulty{SpecStore: model}
	c := open(t, link, Config{})
	ctx := context.Background()
	first := sheet(1, 1, 1)
	h, created, err := c.Publish(ctx, first, "", true)
	if err != nil || !created || h.Name() != "specs/tarn-1-2026-eu/revisions/1" || c.Position() != 0 {
		t.Fatalf("validate only: got %+v, created %t, error %v", h, created, err)
	}
	preview := h
	if h = publish(t, c, first); h.Etag != preview.Etag || h.Digest != preview.Digest || h.Position != 1 || !h.CoversVIN(unit) {
		t.Errorf("got %+v, the preview was %+v", h, preview)
	}
	// It is judged by at once, without the sheet being read for its engine.
	read := link.count("Spec")
	choice, engine, err := c.Judge(ctx, about(1))
	if err != nil || choice.Digest != h.Digest || engine.Revision().Digest() != h.Digest || link.count("Spec") != read {
		t.Errorf("got %+v, error %v, %d reads", choice, err, link.count("Spec")-read)
	}
	// The sheet was copied.
	first.ChangeNote = "Changed by the caller."
	if engine.Revision().Sheet().GetChangeNote() == first.ChangeNote {
		t.Error("the sheet is shared with the caller")
	}
	// The same again, with a wrong etag.
	for _, validateOnly := range []bool{true, false} {
		if again, created, err := c.Publish(ctx, sheet(1, 1, 1), "nonsense", validateOnly); err != nil || created || again != h {
			t.Errorf("again: got %+v, created %t, error %v", again, created, err)
		}
	}
	second := publish(t, c, sheet(1, 2, 2))
	if choice, _, err := c.Judge(ctx, about(1)); err != nil || choice.Revision != 2 {
		t.Errorf("got %+v, error %v, wanted revision 2", choice, err)
	}
	withdrawn, err := c.Withdraw(ctx, second.SpecID, 2, "misprint")
	if err != nil || withdrawn.Withdrawn == nil || withdrawn.WithdrawReason != "misprint" || withdrawn.Etag == second.Etag {
		t.Errorf("Withdraw: got %+v, error %v", withdrawn, err)
	}
	if choice, _, err := c.Judge(ctx, about(1)); err != nil || choice.Revision != 1 {
		t.Errorf("got %+v, error %v, wanted revision 1", choice, err)
	}
	if again, err := c.Withdraw(ctx, second.SpecID, 2, "for another reason"); err != nil || again != withdrawn {
		t.Errorf("Withdraw again: got %+v, error %v", again, err)
	}
	// The withdrawn one comes back as it is.
	if again, created, err := c.Publish(ctx, sheet(1, 2, 2), "", false); err != nil || created || again != withdrawn {
		t.Errorf("got %+v, created %t, error %v", again, created, err)
	}
	var missing *spec.NotFoundError
	for _, revision := range []int{3, 0, -1} {
		if _, err := c.Withdraw(ctx, second.SpecID, revision, "misprint"); !errors.As(err, &missing) {
			t.Errorf("Withdraw %d: got %v", revision, err)
		}
	}
	if _, err := c.Withdraw(ctx, "tarn-11-2026-eu", 1, "misprint"); !errors.As(err, &missing) || len(missing.Suggestions) == 0 {
		t.Errorf("Withdraw: got %v", err)
	}
	if _, err := c.Withdraw(ctx, second.SpecID, 1, ""); !errors.Is(err, store.ErrInvalidSpec) {
		t.Errorf("Withdraw without a reason: got %v", err)
	}
}

// TestPublishTellsAllProblems gathers what lint, the published revisions, the
// other specs and the compiler have against a sheet.
func TestPublishTellsAllProblems(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	fill(t, model, running(1, 1, 1, "", serial(4999)), running(2, 1, 1, serial(5000), ""))
	c := open(t, model, Config{})
	problems := func(s *pb.SpecSheet) string {
		t.Helper()
		_, created, err := c.Publish(context.Background(), s, "", false)
		var bad *spec.SheetError
		if !errors.As(err, &bad) || created {
			t.Fatalf("got %v, wanted a SheetError", err)
		}
		var all []string
		for _, p := range bad.Problems {
			all = append(all, p.String())
		}
		slices.Sort(all)
		return strings.Join(all, "\n")
	}
	s := running(1, 2, 2, serial(4000), serial(6000))
	s.Make, s.ModelYear = "Other Works", 2026
	s.Characteristics[0].Source = ""
	s.Rules = []*pb.Rule{}
	got := problems(s)
	for _, want := range []string{
		"characteristics[0].source: ",
		"make: got Other Works, want Sample Works as revision 1 has: another machine is another spec",
		"vin: specs/tarn-2-2026-eu/revisions/1, in force from 2026-03-02, covers VINs of this sheet, such as 0VS??????T?005000: a machine must have one sheet",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("got\n%s\nwanted in it\n%s", got, want)
		}
	}
	s = running(1, 2, 2, serial(4000), serial(6000))
	s.Rules = []*pb.Rule{{Id: "sum", Expression: "gap_00 +", Message: "The sum.", Severity: pb.Severity_SEVERITY_FUNCTION, Remedy: "Set it.", Source: "Invented"}}
	got = problems(s)
	if !strings.Contains(got, "vin: ") || !strings.Contains(got, "rules[0]") {
		t.Errorf("got\n%s\nwanted both the VINs and the rule", got)
	}
	if got := problems(nil); !strings.Contains(got, "got no sheet") {
		t.Errorf("got %s", got)
	}
	problems(&pb.SpecSheet{})
	if c.Position() != 2 {
		t.Errorf("something was published")
	}
	// When the other has made way, the same range is free: from then on.
	publish(t, c, running(2, 2, 10, serial(6001), ""))
	s = running(1, 2, 9, serial(4000), serial(6000))
	problems(s)
	publish(t, c, running(1, 2, 10, serial(4000), serial(6000)))
	// Another year, market or model is another matter.
	other := sheet(3, 1, 1)
	publish(t, c, other)
}

// TestPreviewAgainstStore validates what is then published.
func TestPreviewAgainstStore(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		model := storetest.NewModel()
		clock := storetest.Base
		c, err := Open(context.Background(), model, Config{Now: func() time.Time { clock = clock.Add(time.Microsecond); return clock }})
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		etags := []string{"", "nonsense"}
		for range 8 {
			history, _ := c.History(storetest.SpecID(1))
			if len(history) > 0 && rapid.IntRange(0, 3).Draw(t, "withdraw") == 0 {
				h, err := c.Withdraw(context.Background(), storetest.SpecID(1), rapid.IntRange(1, len(history)).Draw(t, "which"), "misprint")
				if err != nil {
					t.Fatal(err)
				}
				etags = append(etags, h.Etag)
				continue
			}
			s := sheet(1, max(1, len(history)+rapid.SampledFrom([]int{1, 1, 1, 0, 2}).Draw(t, "number")), 1)
			s.EffectiveTime = timestamppb.New(day0(rapid.IntRange(1, 5).Draw(t, "day")))
			s.ChangeNote = rapid.SampledFrom([]string{"a", "b"}).Draw(t, "content")
			ifMatch := rapid.SampledFrom(etags).Draw(t, "etag")
			if len(history) > 0 && rapid.Bool().Draw(t, "fresh") {
				ifMatch = history[0].Etag
			}
			preview, wouldBe, wantErr := c.Publish(context.Background(), s, ifMatch, true)
			h, created, err := c.Publish(context.Background(), s, ifMatch, false)
			if wouldBe != created || (wantErr == nil) != (err == nil) {
				t.Fatalf("got created %t, error %v; the preview said %t, %v", created, err, wouldBe, wantErr)
			}
			for _, sentinel := range []error{store.ErrSpecChanged, store.ErrRevisionNumber, store.ErrEffectiveTime} {
				if errors.Is(err, sentinel) != errors.Is(wantErr, sentinel) {
					t.Fatalf("got error %v, the preview's %v", err, wantErr)
				}
			}
			if errors.Is(err, store.ErrSpecChanged) && err.Error() != wantErr.Error() {
				t.Fatalf("got error %v, the preview's %v", err, wantErr)
			}
			if err != nil {
				continue
			}
			etags = append(etags, h.Etag)
			a, b := preview.PublishedSpec, h.PublishedSpec
			if created { // what only storing gives it
				a.RecordedTime, a.Position = b.RecordedTime, b.Position
			}
			if fmt.Sprintf("%+v", forPrint(a)) != fmt.Sprintf("%+v", forPrint(b)) {
				t.Fatalf("got\n%+v\nthe preview was\n%+v", forPrint(b), forPrint(a))
			}
		}
	})
}

// TestPublishOverALostStore loses the store at every call of publishing.
func TestPublishOverALostStore(t *testing.T) {
	t.Parallel()
	for lost := 1; ; lost++ {
		model := storetest.NewModel()
		fill(t, model, sheet(1, 1, 1))
		link := &faulty{SpecStore: model}
		c := open(t, link, Config{})
		calls, last := 0, ""
		link.set(func(_ context.Context, method string) error {
			if calls++; calls >= lost {
				last = method
				return errDown
			}
			return nil
		})
		etag := mustHead(t, c, 1).Etag
		_, created, err := c.Publish(context.Background(), sheet(1, 2, 2), etag, false)
		history, _ := model.SpecHistory(context.Background(), storetest.SpecID(1))
		var stale *StaleError
		var behind *BehindError
		switch {
		case last == "": // it was not lost in time
			if err != nil || !created || lost < 5 {
				t.Errorf("call %d: created %t, error %v", lost, created, err)
			}
			return
		case len(history) == 1:
			if !errors.Is(err, errDown) || errors.As(err, &behind) {
				t.Errorf("call %d, %s: got %v and nothing published", lost, last, err)
			}
			if last == "SpecChanges" && !errors.As(err, &stale) {
				t.Errorf("call %d, %s: got %v, wanted a StaleError", lost, last, err)
			}
		case err != nil:
			if !errors.As(err, &behind) || behind.Position != 2 {
				t.Errorf("call %d, %s: got %v, wanted a BehindError of position 2", lost, last, err)
			}
		}
		// The store is there again, and the same again settles it.
		link.set(nil)
		time.Sleep(retryPause)
		h, created, err := c.Publish(context.Background(), sheet(1, 2, 2), etag, false)
		if err != nil || created == (len(history) == 2) || h.Revision != 2 {
			t.Errorf("call %d, %s: again: got %+v, created %t, error %v", lost, last, h, created, err)
		}
		c.Close()
	}
}

func mustHead(t tester, c *Catalogue, n int) *Head {
	t.Helper()
	history, err := c.History(storetest.SpecID(n))
	if err != nil {
		t.Fatalf("%v", err)
	}
	return history[0]
}

func TestLists(t *testing.T) {
	t.Parallel()
	c := open(t, storetest.NewModel(), Config{})
	if len(c.Heads("", 10)) != 0 || len(c.SpecIDs()) != 0 {
		t.Error("got something of nothing")
	}
	var ids []string
	for _, n := range []int{5, 3, 4, 1, 2} {
		s := sheet(n, 1, 1)
		s.Description, s.ModelAliases = "An invented machine.", []string{"Pool"}
		s.ModelYear += int32(n)
		publish(t, c, s)
		s = proto.CloneOf(s)
		s.Revision, s.ChangeNote = 2, "Again."
		publish(t, c, s)
		ids = append(ids, storetest.SpecID(n))
	}
	slices.Sort(ids)
	if got := c.SpecIDs(); !slices.Equal(got, ids) {
		t.Errorf("got %v", got)
	}
	var paged []string
	for after := ""; ; {
		page := c.Heads(after, 2)
		if len(page) == 0 {
			break
		}
		for _, h := range page {
			if h.Revision != 2 || h.Description != "An invented machine." || !h.Invented || len(h.ModelAliases) != 1 {
				t.Errorf("got %+v", h)
			}
			paged = append(paged, h.SpecID)
		}
		after = page[len(page)-1].SpecID
	}
	if !slices.Equal(paged, ids) {
		t.Errorf("paged %v", paged)
	}
	if got := c.Heads("tarn-2", 1); len(got) != 1 || got[0].SpecID != ids[1] {
		t.Errorf("after what is no spec: got %v", got)
	}
	if got := c.Heads("", -1); len(got) != 0 {
		t.Errorf("got %v", got)
	}
	if s := c.Stats(); s.Specs != 5 || s.Position != 10 || s.Engines != 10 {
		t.Errorf("got %+v", s)
	}
}

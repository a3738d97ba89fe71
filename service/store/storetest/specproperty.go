package storetest

import (
	"context"
	"errors"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"github.com/snapgauge/snapgauge/service/store"
)

var specPropertyTests = []namedSpecTest{
	{"AgainstModel", specAgainstModel},
}

// specAgainstModel does the same random things to a store and to a Model, which
// must agree in every answer.
func specAgainstModel(t *testing.T, open specOpener) {
	s, model := open(t), NewModel()
	ctx := context.Background()
	round := 0
	rapid.Check(t, func(t *rapid.T) {
		// Specs of its own for each round; positions go on.
		first := 10 * round
		round++
		spec := func() int { return first + rapid.IntRange(0, 2).Draw(t, "spec") }
		etags := []string{"", "nonsense"}
		sameError := func(what string, want, got error) {
			for _, sentinel := range []error{store.ErrNotFound, store.ErrInvalidSpec, store.ErrSpecChanged, store.ErrRevisionNumber, store.ErrEffectiveTime} {
				if errors.Is(want, sentinel) != errors.Is(got, sentinel) {
					t.Fatalf("%s: got error %v, the model %v", what, got, want)
				}
			}
			var wantChanged, gotChanged *store.SpecChangedError
			errors.As(want, &wantChanged)
			errors.As(got, &gotChanged)
			if diff := difference(wantChanged, gotChanged); diff != "" || (want == nil) != (got == nil) {
				t.Fatalf("%s: got error %v, the model %v", what, got, want)
			}
		}
		t.Repeat(map[string]func(*rapid.T){
			"publish": func(t *rapid.T) {
				n := spec()
				head := len(mustHistory(t, model, SpecID(n)))
				p := Revision(n, max(1, head+rapid.SampledFrom([]int{1, 1, 1, 0, 2}).Draw(t, "step")))
				p.Sheet.ChangeNote = rapid.SampledFrom([]string{"a", "b"}).Draw(t, "content")
				p.Sheet.EffectiveTime = timestamppb.New(Base.AddDate(0, 0, head+rapid.IntRange(-1, 2).Draw(t, "effective")))
				p.RecordedTime = Base.Add(time.Duration(round)*time.Hour + time.Duration(rapid.IntRange(-3, 3).Draw(t, "recorded"))*time.Minute)
				ifMatch := ""
				if history := mustHistory(t, model, SpecID(n)); len(history) > 0 && rapid.IntRange(0, 4).Draw(t, "fresh") > 0 {
					ifMatch = history[0].Etag
				} else {
					ifMatch = rapid.SampledFrom(etags).Draw(t, "stale")
				}
				want, wantCreated, wantErr := model.PublishSpec(ctx, p, ifMatch)
				got, gotCreated, gotErr := s.PublishSpec(ctx, p, ifMatch)
				sameError("publish", wantErr, gotErr)
				if diff := difference(want, got); diff != "" || wantCreated != gotCreated {
					t.Fatalf("created %t, the model %t (-model +store)\n%s", gotCreated, wantCreated, diff)
				}
				if wantErr == nil {
					etags = append(etags, want.Etag)
				}
			},
			"withdraw": func(t *rapid.T) {
				id, revision := SpecID(spec()), rapid.IntRange(1, 5).Draw(t, "revision")
				at := Base.Add(time.Duration(round)*time.Hour + time.Duration(rapid.IntRange(-3, 3).Draw(t, "at"))*time.Minute)
				want, wantErr := model.WithdrawSpec(ctx, id, revision, "reason", at)
				got, gotErr := s.WithdrawSpec(ctx, id, revision, "reason", at)
				sameError("withdraw", wantErr, gotErr)
				if diff := difference(want, got); diff != "" {
					t.Fatalf("withdraw: (-model +store)\n%s", diff)
				}
			},
			"draft": func(t *rapid.T) {
				n := spec()
				d := draftOf(n, rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "content"))
				ifMatch := ""
				if was, err := model.GetDraft(ctx, d.SpecID); err == nil && rapid.Bool().Draw(t, "fresh") {
					ifMatch = was.Etag
				}
				if rapid.IntRange(0, 3).Draw(t, "delete") == 0 {
					sameError("delete draft", model.DeleteDraft(ctx, d.SpecID, ifMatch), s.DeleteDraft(ctx, d.SpecID, ifMatch))
					return
				}
				want, wantErr := model.SaveDraft(ctx, d, ifMatch)
				got, gotErr := s.SaveDraft(ctx, d, ifMatch)
				sameError("save draft", wantErr, gotErr)
				if diff := difference(want, got); diff != "" {
					t.Fatalf("draft: (-model +store)\n%s", diff)
				}
			},
			"read": func(t *rapid.T) {
				id := SpecID(spec())
				if n := len(mustHistory(t, model, id)); n > 0 {
					revision := rapid.IntRange(1, n).Draw(t, "revision")
					if diff := difference(mustSpec(t, model, id, revision), mustSpec(t, s, id, revision)); diff != "" {
						t.Fatalf("spec: (-model +store)\n%s", diff)
					}
				}
				head, err := model.SpecHead(ctx)
				gotHead, gotErr := s.SpecHead(ctx)
				if err != nil || gotErr != nil || head != gotHead {
					t.Fatalf("head: got %d, error %v, wanted %d", gotHead, gotErr, head)
				}
				after := max(0, head-20)
				if diff := difference(feed(t, model, after, 6), feed(t, s, after, 7)); diff != "" {
					t.Fatalf("feed: (-model +store)\n%s", diff)
				}
				wantDraft, wantErr := model.GetDraft(ctx, id)
				gotDraft, gotErr := s.GetDraft(ctx, id)
				sameError("get draft", wantErr, gotErr)
				if diff := difference(wantDraft, gotDraft); diff != "" {
					t.Fatalf("draft: (-model +store)\n%s", diff)
				}
			},
			"": func(t *rapid.T) {
				id := SpecID(spec())
				if diff := difference(mustHistory(t, model, id), mustHistory(t, s, id)); diff != "" {
					t.Fatalf("history: (-model +store)\n%s", diff)
				}
			},
		})
	})
}

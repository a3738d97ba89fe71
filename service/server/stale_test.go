package server

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/store"
)

// lostStore loses its specs when it is told so, and keeps its set-ups: as if
// changes were on a machine that is away.
type lostStore struct {
	store.DB
	state *atomic.Int32 // one of those below
}

func newLostStore(db store.DB) lostStore { return lostStore{db, &atomic.Int32{}} }

// soonStale has bounds that are short, so that the tests are; with slowToLoad, a
// sheet that does not come is waited for.
var (
	soonStale = catalogue.Config{
		MaxStale: 300 * time.Millisecond, Poll: 20 * time.Millisecond,
		ConfirmTimeout: 100 * time.Millisecond, CallTimeout: 200 * time.Millisecond,
	}
	slowToLoad = catalogue.Config{LoadTimeout: time.Minute}
)

const (
	storeThere int32 = iota
	storeFails
	storeHangs
	sheetsHang // only the sheets; changes are told
)

func (s lostStore) wait(ctx context.Context) error {
	switch s.state.Load() {
	case storeFails:
		return errors.New("secret: connection refused")
	case storeHangs:
		<-ctx.Done()
		return ctx.Err()
	}
	return nil
}

// SpecChanges loses an answer too that was on its way when the store was lost.
func (s lostStore) SpecChanges(ctx context.Context, after int64, limit int) ([]store.Change, error) {
	if err := s.wait(ctx); err != nil {
		return nil, err
	}
	changes, err := s.DB.SpecChanges(ctx, after, limit)
	if lost := s.wait(ctx); lost != nil {
		return nil, lost
	}
	return changes, err
}

func (s lostStore) Spec(ctx context.Context, specID string, revision int) (store.PublishedSpec, error) {
	if s.state.Load() == sheetsHang {
		<-ctx.Done()
	}
	if err := s.wait(ctx); err != nil {
		return store.PublishedSpec{}, err
	}
	return s.DB.Spec(ctx, specID, revision)
}

// eventually calls until done says so, and fails the test when it never does.
func eventually(t testing.TB, what string, done func() bool) {
	t.Helper()
	for deadline := time.Now().Add(20 * time.Second); !done(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%s: not in 20 s", what)
		}
	}
}

// A service that cannot ask its store stops answering by sheets, rather than by
// one that may be withdrawn, and answers again when it can.
func TestStaleCatalogue(t *testing.T) {
	for name, how := range map[string]int32{"store fails": storeFails, "store hangs": storeHangs} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			db := newLostStore(openFile(t, filepath.Join(t.TempDir(), "test.db")))
			b := newBench(t, withDB(db), withCatalogue(soonStale))
			submit := &pb.SubmitSetupRequest{Record: goodRecord(), RequestId: uuid.NewString()}
			first, err := b.setups.SubmitSetup(t.Context(), submit)
			if err != nil {
				t.Fatal(err)
			}
			validate := func() error {
				_, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: goodRecord()})
				return err
			}
			spec := "specs/" + rill
			one := spec + "/revisions/1"
			stale := map[string]func() error{
				"ValidateSetup": validate,
				"SubmitSetup": func() error {
					_, err := b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{Record: goodRecord(), RequestId: uuid.NewString()})
					return err
				},
				"PlanSetup": func() error {
					_, err := b.setups.PlanSetup(t.Context(), &pb.PlanSetupRequest{Model: "rill"})
					return err
				},
				"RenderSheet": func() error {
					_, err := b.setups.RenderSheet(t.Context(), ofRecordFor(handoverSheet, goodRecord()))
					return err
				},
				"ListAffectedSetups": func() error {
					_, err := b.setups.ListAffectedSetups(t.Context(), &pb.ListAffectedSetupsRequest{SpecRevision: one})
					return err
				},
				"GetSpec": func() error {
					_, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: spec})
					return err
				},
				"GetSpec of a revision": func() error {
					_, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: one})
					return err
				},
				"ListSpecs": func() error {
					_, err := b.specs.ListSpecs(t.Context(), &pb.ListSpecsRequest{})
					return err
				},
				"ListSpecRevisions": func() error {
					_, err := b.specs.ListSpecRevisions(t.Context(), &pb.ListSpecRevisionsRequest{Parent: spec})
					return err
				},
				"LookUpCharacteristics": func() error {
					_, err := b.specs.LookUpCharacteristics(t.Context(), &pb.LookUpCharacteristicsRequest{Model: "rill", Words: "oil"})
					return err
				},
				"DiffSpecs": func() error {
					_, err := b.specs.DiffSpecs(t.Context(), &pb.DiffSpecsRequest{Base: spec, Target: one})
					return err
				},
				"CheckOptions": func() error {
					_, err := b.specs.CheckOptions(t.Context(), &pb.CheckOptionsRequest{Name: one})
					return err
				},
				"PublishSpec": func() error {
					_, err := b.specs.PublishSpec(t.Context(), &pb.PublishSpecRequest{File: wholeFile(tarnSheet(t, 1, unchanged))})
					return err
				},
				"WithdrawSpecRevision": func() error { // is stored, and says that it is not in use here
					_, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: spec + "/revisions/2", Reason: "Wrong."})
					return err
				},
			}
			db.state.Store(how)
			eventually(t, "the catalogue is found to be stale", func() bool { return validate() != nil })
			for name, call := range stale {
				st := wantStatus(t, call(), codes.Unavailable, reasonCatalogueStale, "")
				if strings.Contains(st.String(), "secret") {
					t.Errorf("%s: got %v, want no internals", name, st)
				}
			}
			if lag := b.gauge(t, "snapgauge_catalogue_lag_seconds"); lag <= 0.3 {
				t.Errorf("got a lag of %v s", lag)
			}
			// What asks no sheet in force is answered.
			if _, err := b.setups.GetSetup(t.Context(), &pb.GetSetupRequest{Name: first.GetSetup().GetName()}); err != nil {
				t.Error(err)
			}
			if _, err := b.setups.RenderSheet(t.Context(), ofSetup(handoverSheet, first.GetSetup().GetName())); err != nil {
				t.Error(err)
			}
			again, err := b.setups.SubmitSetup(t.Context(), submit)
			if err != nil || !proto.Equal(again, first) {
				t.Errorf("a repeated submit: got %v and %v, want the first answer", again, err)
			}

			db.state.Store(storeThere)
			eventually(t, "the catalogue is current again", func() bool { return validate() == nil })
			for name, call := range stale {
				if name == "WithdrawSpecRevision" {
					continue // below
				}
				if err := call(); err != nil {
					t.Errorf("%s: %v", name, err)
				}
			}
			if r := b.specRevisions(t, rill)[0]; r.WithdrawTime == nil {
				t.Errorf("got %v, want it withdrawn: that was stored", r)
			}
			if err := stale["WithdrawSpecRevision"](); err != nil {
				t.Error(err)
			}
		})
	}
}

// A replica that is cut off from the store stops judging by a revision that
// another one withdraws: it does not know, so it does not answer.
func TestCutOffReplica(t *testing.T) {
	for name, how := range map[string]int32{"store fails": storeFails, "store hangs": storeHangs} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "shared.db")
			a := newBench(t, withDB(openFile(t, path)), withSheets(nil))
			first := a.publish(t, tarnSheet(t, 1, unchanged))
			second := a.publish(t, tarnSheet(t, 2, func(s *pb.SpecSheet) { s.ChangeNote = "Second issue." }))
			cut := newLostStore(openFile(t, path))
			b := newBench(t, withDB(cut), withSheets(nil))
			if got := b.judgedBy(t); got != second.GetName() {
				t.Fatalf("got %s, want %s", got, second.GetName())
			}
			cut.state.Store(how)
			if _, err := a.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: second.GetName(), Reason: "Wrong."}); err != nil {
				t.Fatal(err)
			}
			withdrawn := time.Now()
			w := &withdrawals{at: map[string]time.Time{second.GetName(): withdrawn}}
			refused := 0
			for time.Since(withdrawn) < 2*staleBound {
				began := time.Now()
				report, err := b.judgeOnce(t.Context(), false)
				if err != nil {
					wantStatus(t, err, codes.Unavailable, reasonCatalogueStale, "")
					refused++
				} else if err := w.check(report.GetSpecRevision(), began, staleBound); err != nil {
					t.Error(err)
				}
			}
			if refused == 0 {
				t.Error("got an answer to every call, want it refused once it is stale")
			}
			cut.state.Store(storeThere)
			eventually(t, "it judges by the revision that is left", func() bool { return b.judgedBy(t) == first.GetName() })
		})
	}
}

// A replica that knows which revision is in force, and cannot read it, says that
// the caller may try again, and judges when it can.
func TestSheetNotLoaded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shared.db")
	published := newBench(t, withDB(openFile(t, path)), withSheets(nil)).publish(t, tarnSheet(t, 1, unchanged))
	cut := newLostStore(openFile(t, path))
	b := newBench(t, withDB(cut), withSheets(nil), withCatalogue(catalogue.Config{LoadTimeout: 50 * time.Millisecond}))
	cut.state.Store(sheetsHang)
	_, err := b.judgeOnce(t.Context(), false)
	wantStatus(t, err, codes.Unavailable, reasonSheetNotLoaded, "")
	cut.state.Store(storeThere)
	if got := b.judgedBy(t); got != published.GetName() {
		t.Errorf("got %s, want %s", got, published.GetName())
	}
}

// gauge is the value of a metric without labels.
func (b *bench) gauge(t testing.TB, name string) float64 {
	t.Helper()
	families, err := b.registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, family := range families {
		if family.GetName() == name {
			m := family.GetMetric()[0]
			return m.GetGauge().GetValue() + m.GetCounter().GetValue()
		}
	}
	t.Fatalf("no metric %s", name)
	return 0
}

func TestCatalogueMetrics(t *testing.T) {
	b := newBench(t)
	if got := b.gauge(t, "snapgauge_spec_changes_total"); got != 5 {
		t.Errorf("got %v changes, want the 5 of testdata", got)
	}
	if got := b.gauge(t, "snapgauge_engines_loaded"); got != 5 {
		t.Errorf("got %v engines, want 5", got)
	}
	if got := b.gauge(t, "snapgauge_catalogue_lag_seconds"); got < 0 || got > 30 {
		t.Errorf("got a lag of %v s", got)
	}
	if _, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: "specs/" + rill + "/revisions/1", Reason: "Wrong."}); err != nil {
		t.Fatal(err)
	}
	if got := b.gauge(t, "snapgauge_spec_changes_total"); got != 6 {
		t.Errorf("got %v changes after one more, want 6", got)
	}
}

// The errors of the catalogue and of publishing, each with its own code.
func TestCatalogueErrors(t *testing.T) {
	for _, tc := range []struct {
		err    error
		code   codes.Code
		reason string
	}{
		{&catalogue.StaleError{Age: time.Minute, Max: time.Second, Err: context.Canceled}, codes.Unavailable, reasonCatalogueStale},
		{&catalogue.StaleError{Age: time.Minute, Err: store.ErrCorrupt}, codes.Unavailable, reasonCatalogueStale},
		{&catalogue.BehindError{Position: 3, Err: context.DeadlineExceeded}, codes.Unavailable, reasonCatalogueStale},
		{&catalogue.AmbiguousError{What: "x", SpecIDs: []string{"a", "b"}}, codes.FailedPrecondition, reasonSpecAmbiguous},
		{catalogue.ErrClosed, codes.Unavailable, ""},
		{errStopping, codes.Unavailable, ""},
		{&catalogue.UnfitError{Name: "x", Err: store.ErrCorrupt}, codes.Internal, ""},
		{&catalogue.DivergedError{}, codes.Internal, ""},
	} {
		st, _ := statusOf(tc.err)
		if st.Code() != tc.code || statusReason(st.Err()) != tc.reason {
			t.Errorf("%T: got %v, want %v %s", tc.err, st, tc.code, tc.reason)
		}
		if strings.Contains(st.Message(), "corrupt") {
			t.Errorf("%T: got %v, want no internals", tc.err, st)
		}
	}
}

package server

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

const (
	// staleBound is how long after a withdrawal another replica may still judge by
	// the revision. It is the catalogue's own bound, and holds whatever the load.
	staleBound = time.Second
	// publishBound is how soon a revision must be judged by on another replica
	// here. It is a second in the promise; a machine that runs other tests beside
	// is given more, and the test says what it took.
	publishBound = 5 * time.Second

	replicaRounds = 20
	loadCallers   = 3 // on each replica
)

// Two servers over one SQLite file. The other's changes are found by asking.
func TestTwoReplicasOverSQLite(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shared.db")
	testReplicas(t, func() store.DB { return openFile(t, path) })
}

// testReplicas publishes and withdraws on one server, while both judge and store
// under load, and watches what the other judges by.
func testReplicas(t *testing.T, open func() store.DB) {
	if testing.Short() {
		t.Skip("it takes some seconds")
	}
	a := newBench(t, withDB(open()), withSheets(nil))
	b := newBench(t, withDB(open()), withSheets(nil))
	number := int32(0)
	next := func() *pb.SpecSheet { // all in force from the same day: the newest judges
		number++
		return tarnSheet(t, number, func(s *pb.SpecSheet) { s.ChangeNote = fmt.Sprintf("Issue %d.", number) })
	}
	published := a.publish(t, next())
	eventually(t, "the other replica judges at all", func() bool { return b.judgedBy(t) == published.GetName() })

	w := &withdrawals{at: make(map[string]time.Time)}
	calls, stop := load(t, w, a, b)
	defer stop()
	var learned, forgot []time.Duration
	for range replicaRounds {
		published = a.publish(t, next())
		start := time.Now()
		if got := a.judgedBy(t); got != published.GetName() {
			t.Errorf("the server that published %s judges by %s", published.GetName(), got)
		}
		for b.judgedBy(t) != published.GetName() {
			if time.Since(start) > publishBound {
				t.Fatalf("not judged by on the other replica after %v", publishBound)
			}
			time.Sleep(time.Millisecond)
		}
		learned = append(learned, time.Since(start))
		if number%4 != 0 {
			continue
		}
		if _, err := a.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: published.GetName(), Reason: "Wrong."}); err != nil {
			t.Fatal(err)
		}
		start = time.Now()
		w.note(published.GetName(), start)
		for b.judgedBy(t) == published.GetName() {
			if time.Since(start) > publishBound {
				t.Fatalf("still judged by on the other replica after %v", publishBound)
			}
			time.Sleep(time.Millisecond)
		}
		forgot = append(forgot, time.Since(start))
	}
	elapsed := stop()
	slices.Sort(learned)
	slices.Sort(forgot)
	t.Logf("%d callers made %.0f calls/s; published on one, judged by on the other after %v at the median and %v at most of %d; withdrawn after %v and %v of %d",
		2*loadCallers, float64(calls.Load())/elapsed.Seconds(),
		learned[len(learned)/2].Round(time.Millisecond), learned[len(learned)-1].Round(time.Millisecond), len(learned),
		forgot[len(forgot)/2].Round(time.Millisecond), forgot[len(forgot)-1].Round(time.Millisecond), len(forgot))
}

// judgedBy is the revision that judges a record of the tarn. A catalogue that is
// stale for a moment, on a machine with much to do, says so and is asked again.
func (b *bench) judgedBy(t testing.TB) string {
	t.Helper()
	for {
		resp, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: tarnRecord()})
		switch status.Code(err) {
		case codes.OK:
			return resp.GetReport().GetSpecRevision()
		case codes.Unavailable:
			continue
		case codes.NotFound: // nothing has come yet
			return ""
		}
		t.Fatal(err)
	}
}

// withdrawals holds when revisions were withdrawn.
type withdrawals struct {
	mu sync.Mutex
	at map[string]time.Time
}

func (w *withdrawals) note(revision string, at time.Time) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.at[revision] = at
}

// check says what is wrong with a revision having judged a call that began at an
// instant, when it may judge for so long after it was withdrawn.
func (w *withdrawals) check(revision string, began time.Time, grace time.Duration) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if at, ok := w.at[revision]; ok && began.After(at.Add(grace)) {
		return fmt.Errorf("%s judged a call that began %v after it was withdrawn", revision, began.Sub(at))
	}
	return nil
}

// load judges and stores on two replicas until it is stopped: the first is the
// one that withdraws. It checks what each call was judged by.
func load(t *testing.T, w *withdrawals, replicas ...*bench) (calls *atomic.Int64, stop func() time.Duration) {
	ctx, cancel := context.WithCancel(t.Context())
	calls = &atomic.Int64{}
	var group sync.WaitGroup
	start := time.Now()
	for i, b := range replicas {
		grace := time.Duration(i) * staleBound
		for range loadCallers {
			group.Go(func() {
				for ctx.Err() == nil {
					for _, submit := range []bool{false, false, false, true} {
						began := time.Now()
						report, err := b.judgeOnce(ctx, submit)
						switch status.Code(err) {
						case codes.OK:
							calls.Add(1)
							if err := w.check(report.GetSpecRevision(), began, grace); err != nil {
								t.Error(err)
							}
						case codes.Unavailable, codes.Canceled:
						default:
							if !errors.Is(err, context.Canceled) {
								t.Error(err)
							}
						}
					}
				}
			})
		}
	}
	return calls, sync.OnceValue(func() time.Duration {
		cancel()
		group.Wait()
		return time.Since(start)
	})
}

func (b *bench) judgeOnce(ctx context.Context, submit bool) (*pb.Report, error) {
	if submit {
		resp, err := b.setups.SubmitSetup(ctx, &pb.SubmitSetupRequest{Record: tarnRecord(), RequestId: uuid.NewString()})
		return resp.GetSetup().GetReport(), err
	}
	resp, err := b.setups.ValidateSetup(ctx, &pb.ValidateSetupRequest{Record: tarnRecord()})
	return resp.GetReport(), err
}

package storetest

import (
	"context"
	"errors"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
)

// mustPublish publishes a revision that is new.
func mustPublish(t tester, s store.DB, p store.PublishedSpec, ifMatch string) store.PublishedSpec {
	t.Helper()
	stored, created, err := s.PublishSpec(context.Background(), p, ifMatch)
	if err != nil || !created {
		t.Fatalf("PublishSpec %s/%d: got created %t and error %v, wanted it published",
			p.Sheet.GetSpecId(), p.Sheet.GetRevision(), created, err)
	}
	return stored
}

// publishSteps publishes the first revisions of a spec.
func publishSteps(t tester, s store.DB, n, revisions int) []store.PublishedSpec {
	t.Helper()
	var steps []store.PublishedSpec
	etag := ""
	for revision := 1; revision <= revisions; revision++ {
		step := mustPublish(t, s, Revision(n, revision), etag)
		etag, steps = step.Etag, append(steps, step)
	}
	return steps
}

func mustWithdraw(t tester, s store.DB, specID string, revision int, reason string, at time.Time) store.Change {
	t.Helper()
	change, err := s.WithdrawSpec(context.Background(), specID, revision, reason, at)
	if err != nil {
		t.Fatalf("WithdrawSpec %s: %v", store.RevisionName(specID, revision), err)
	}
	return change
}

func mustSpec(t tester, s store.DB, specID string, revision int) store.PublishedSpec {
	t.Helper()
	p, err := s.Spec(context.Background(), specID, revision)
	if err != nil {
		t.Fatalf("Spec %s: %v", store.RevisionName(specID, revision), err)
	}
	return p
}

func mustHistory(t tester, s store.DB, specID string) []store.PublishedSpec {
	t.Helper()
	history, err := s.SpecHistory(context.Background(), specID)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		t.Fatalf("SpecHistory %s: %v", specID, err)
	}
	return history
}

// refuses publishes what must fail and leave nothing behind.
func refuses(t tester, s store.DB, p store.PublishedSpec, ifMatch string, want error) error {
	t.Helper()
	before := len(feed(t, s, 0, 100))
	stored, created, err := s.PublishSpec(context.Background(), p, ifMatch)
	if !errors.Is(err, want) || created || stored.SpecID != "" {
		t.Errorf("PublishSpec: got %q, created %t, error %v, wanted error %v", stored.SpecID, created, err, want)
	}
	if after := len(feed(t, s, 0, 100)); after != before {
		t.Errorf("a refused revision left %d changes where %d were", after, before)
	}
	return err
}

// feed follows the changes to their end and holds them to the order that is
// promised.
func feed(t tester, s store.DB, after int64, limit int) []store.Change {
	t.Helper()
	var changes []store.Change
	for {
		page, err := s.SpecChanges(context.Background(), after, limit)
		if err != nil {
			t.Fatalf("SpecChanges: %v", err)
		}
		if len(page) > limit {
			t.Fatalf("SpecChanges: got %d changes, wanted at most %d", len(page), limit)
		}
		if len(page) == 0 {
			return changes
		}
		for _, c := range page {
			if after++; c.Position != after {
				t.Fatalf("SpecChanges: got position %d, wanted %d", c.Position, after)
			}
			if n := len(changes); n > 0 && c.RecordedTime.Before(changes[n-1].RecordedTime) {
				t.Fatalf("SpecChanges: %d is recorded before the change before it", c.Position)
			}
			changes = append(changes, c)
		}
	}
}

// withoutSheet is how a revision stands in a history.
func withoutSheet(p store.PublishedSpec) store.PublishedSpec {
	p.Sheet = nil
	return p
}

// CheckSpecs holds everything that a store has of specs together: positions
// without gaps, a change for every revision and a revision for every change,
// numbers without gaps, every sheet with its digest. It returns the changes.
func CheckSpecs(t tester, s store.DB) []store.Change {
	t.Helper()
	changes := feed(t, s, 0, store.MaxLimit)
	head, err := s.SpecHead(context.Background())
	if err != nil || head < int64(len(changes)) {
		t.Fatalf("SpecHead: got %d, error %v, wanted %d or more", head, err, len(changes))
	}
	published := make(map[string]int)
	withdrawn := make(map[string]bool)
	for _, c := range changes {
		switch c.Kind {
		case store.Published:
			if published[c.SpecID]++; c.Revision != published[c.SpecID] {
				t.Errorf("position %d: got %s, wanted revision %d", c.Position, c.Name(), published[c.SpecID])
			}
			p, err := s.Spec(context.Background(), c.SpecID, c.Revision)
			if err != nil {
				t.Errorf("position %d: %v", c.Position, err)
				continue
			}
			if p.Digest != c.Digest || p.Position != c.Position || len(p.Sheet.GetCharacteristics()) != p.CharacteristicCount {
				t.Errorf("%s: got digest %s, position %d, %d characteristics, wanted %s, %d and %d", c.Name(),
					p.Digest, p.Position, len(p.Sheet.GetCharacteristics()), c.Digest, c.Position, p.CharacteristicCount)
			}
		case store.Withdrawn:
			if withdrawn[c.Name()] || c.Revision > published[c.SpecID] {
				t.Errorf("position %d: %s is withdrawn again, or before it was published", c.Position, c.Name())
			}
			withdrawn[c.Name()] = true
		default:
			t.Errorf("position %d: got kind %v", c.Position, c.Kind)
		}
	}
	for id, revisions := range published {
		history := mustHistory(t, s, id)
		if len(history) < revisions {
			t.Errorf("%s: got %d revisions in its history, wanted %d", id, len(history), revisions)
		}
		for i, p := range history {
			if p.Revision != len(history)-i {
				t.Errorf("%s: got revision %d, wanted %d", id, p.Revision, len(history)-i)
			}
		}
	}
	return changes
}

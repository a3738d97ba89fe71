package gauge

import (
	"bytes"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// slot is what the record says of one characteristic.
type slot struct {
	// reading is the one that decides: as left, or as found where nothing was
	// changed. value is its number in the sheet's unit.
	reading *pb.Reading
	value   float64
	// found is the reading as found, where there is one as left as well.
	found      *pb.Reading
	foundValue float64

	left, before placed
	// blankLeft says that a reading as left is written down without a result.
	blankLeft bool

	// stands says that the value is known: rules and adjusters may use it.
	stands  bool
	outcome pb.OutcomeKind
}

// placed collects the readings of one stage.
type placed struct {
	reading *pb.Reading
	value   float64
	count   int
}

const (
	conforming    = pb.OutcomeKind_OUTCOME_KIND_CONFORMING
	nonconforming = pb.OutcomeKind_OUTCOME_KIND_NONCONFORMING
	undecided     = pb.OutcomeKind_OUTCOME_KIND_UNDECIDED
	missing       = pb.OutcomeKind_OUTCOME_KIND_MISSING
	notApplicable = pb.OutcomeKind_OUTCOME_KIND_NOT_APPLICABLE
)

// place notes a reading under its stage.
func (s *slot) place(reading *pb.Reading, value float64) {
	at := &s.left
	if reading.GetStage() == pb.Stage_STAGE_AS_FOUND {
		at = &s.before
	}
	at.count++
	// Of two readings that contradict each other one is kept, for its time only;
	// which one must not depend on their order.
	if at.count == 1 || precedes(at.reading, reading) {
		at.reading, at.value = reading, value
	}
}

// precedes puts readings in an order that depends on nothing but their content.
func precedes(a, b *pb.Reading) bool {
	content := proto.MarshalOptions{Deterministic: true}
	da, errA := content.Marshal(a)
	db, errB := content.Marshal(b)
	return errA == nil && errB == nil && bytes.Compare(da, db) < 0
}

// settle chooses the reading that decides.
func (s *slot) settle() {
	switch {
	case s.left.count == 0 && s.blankLeft:
		// Something was changed and not read again: what was found decides nothing.
	case s.left.count > 0:
		s.reading, s.value = s.left.reading, s.left.value
		if s.before.count > 0 {
			s.found, s.foundValue = s.before.reading, s.before.value
		}
	case s.before.count > 0:
		s.reading, s.value = s.before.reading, s.before.value
	}
}

// duplicated says how many readings there are at a stage that has more than
// one.
func (s *slot) duplicated() (stage pb.Stage, count int, ok bool) {
	switch {
	case s.left.count > 1:
		return pb.Stage_STAGE_AS_LEFT, s.left.count, true
	case s.before.count > 1:
		return pb.Stage_STAGE_AS_FOUND, s.before.count, true
	}
	return 0, 0, false
}

// worsen lowers the outcome to at least as bad a one.
func (s *slot) worsen(to pb.OutcomeKind) {
	rank := func(k pb.OutcomeKind) int {
		switch k {
		case nonconforming:
			return 3
		case missing, undecided:
			return 2
		case conforming:
			return 1
		}
		return 0
	}
	if rank(to) > rank(s.outcome) {
		s.outcome = to
	}
}

// conditionSet holds at most one condition of each aspect.
type conditionSet [10]pb.Condition

// aspect is the state of the machine that a condition speaks of: the tens of
// its number, as the contract says.
func aspect(c pb.Condition) int { return int(c) / 10 % 10 }

func (s *conditionSet) set(c pb.Condition) { s[aspect(c)] = c }

// admit sets the conditions that a record or a reading states, and refuses two
// of one aspect: which of them holds would depend on their order.
func (s *conditionSet) admit(bad *RecordError, path string, conditions []pb.Condition) {
	for _, c := range conditions {
		if other := s[aspect(c)]; other != pb.Condition_CONDITION_UNSPECIFIED && other != c {
			bad.add(ConditionConflict, path, "got %s and %s, which exclude each other", phrase.Name(other), phrase.Name(c))
		}
		s.set(c)
	}
}

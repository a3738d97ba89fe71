package jobplan

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// aJob makes steps at random in an order in which each comes after its
// prerequisites: some adjusters, some that need the engine running or cold.
func aJob(r *rand.Rand) []*pb.Characteristic {
	n := 1 + r.IntN(40)
	places := 1 + r.IntN(6)
	steps := make([]*pb.Characteristic, n)
	for i := range steps {
		c := &pb.Characteristic{Id: fmt.Sprintf("c%d", i), Group: pb.Group(1 + r.IntN(places))}
		for range r.IntN(3) {
			if i > 0 {
				if id := steps[r.IntN(i)].GetId(); !slices.Contains(c.Prerequisites, id) {
					c.Prerequisites = append(c.Prerequisites, id)
				}
			}
		}
		if r.IntN(5) == 0 {
			c.Kind = &pb.Characteristic_Adjuster{Adjuster: &pb.Adjuster{
				Moves: &pb.AdjusterEffect{Characteristic: fmt.Sprintf("c%d", r.IntN(n))},
			}}
		}
		switch r.IntN(8) {
		case 0:
			c.ReferenceConditions = []pb.Condition{pb.Condition_CONDITION_ENGINE_RUNNING}
		case 1:
			c.ReferenceConditions = []pb.Condition{pb.Condition_CONDITION_ENGINE_COLD}
		}
		steps[i] = c
	}
	return steps
}

func movedAlone(c *pb.Characteristic) []string {
	if id := c.GetAdjuster().GetMoves().GetCharacteristic(); id != "" && id != c.GetId() {
		return []string{id}
	}
	return nil
}

func ids(steps []*pb.Characteristic) []string {
	list := make([]string, len(steps))
	for i, c := range steps {
		list[i] = c.GetId()
	}
	return list
}

// placeChanges counts how often the technician goes to another place.
func placeChanges(steps []*pb.Characteristic) int {
	n := 0
	for i := 1; i < len(steps); i++ {
		if steps[i].GetGroup() != steps[i-1].GetGroup() {
			n++
		}
	}
	return n
}

func TestWalkingOrderProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	saved := 0
	for round := range 3000 {
		sheet := aJob(r)
		walk := inWalkingOrder(sheet, movedAlone)
		if got, want := slices.Sorted(slices.Values(ids(walk))), slices.Sorted(slices.Values(ids(sheet))); !slices.Equal(got, want) {
			t.Fatalf("round %d: steps lost or doubled: got %v, want %v", round, got, want)
		}
		at := places(walk)
		for _, c := range sheet {
			for _, id := range c.GetPrerequisites() {
				if at[id] > at[c.GetId()] {
					t.Fatalf("round %d: %s comes before its prerequisite %s", round, c.GetId(), id)
				}
			}
		}
		started := false
		firstRun := slices.IndexFunc(sheet, running)
		for _, c := range walk {
			started = started || running(c)
			on := slices.Index(sheet, c)
			if started && !running(c) && on < firstRun && c.GetAdjuster() == nil {
				t.Fatalf("round %d: the engine runs before %s, which the sheet has before it first runs", round, c.GetId())
			}
		}
		before, after := placeChanges(sheet), placeChanges(walk)
		if after > before {
			t.Fatalf("round %d: %d changes of place, %d on the sheet", round, after, before)
		}
		saved += before - after
		if again := inWalkingOrder(sheet, movedAlone); !slices.Equal(ids(again), ids(walk)) {
			t.Fatalf("round %d: another order the second time", round)
		}
	}
	if saved == 0 {
		t.Error("no change of place was saved in any round")
	}
}

func TestWalkingOrder(t *testing.T) {
	c := func(id string, group int, prerequisites ...string) *pb.Characteristic {
		return &pb.Characteristic{Id: id, Group: pb.Group(group), Prerequisites: prerequisites}
	}
	with := func(c *pb.Characteristic, conditions ...pb.Condition) *pb.Characteristic {
		c.ReferenceConditions = conditions
		return c
	}
	moving := func(c *pb.Characteristic, id string) *pb.Characteristic {
		c.Kind = &pb.Characteristic_Adjuster{Adjuster: &pb.Adjuster{Moves: &pb.AdjusterEffect{Characteristic: id}}}
		return c
	}
	const on, cold = pb.Condition_CONDITION_ENGINE_RUNNING, pb.Condition_CONDITION_ENGINE_COLD
	for name, test := range map[string]struct {
		sheet []*pb.Characteristic
		want  []string
	}{
		"nothing": {},
		"stays at a place as long as it can": {
			sheet: []*pb.Characteristic{c("a", 1), c("b", 2), c("c", 1), c("d", 2)},
			want:  []string{"a", "c", "b", "d"},
		},
		"goes where the first ready step of the sheet is": {
			sheet: []*pb.Characteristic{c("a", 1), c("b", 2, "a"), c("c", 3), c("d", 1, "c"), c("e", 2)},
			want:  []string{"a", "b", "e", "c", "d"},
		},
		"comes back for what had to wait": {
			sheet: []*pb.Characteristic{c("a", 1), c("b", 2), c("c", 1, "b")},
			want:  []string{"a", "b", "c"},
		},
		"sets before it measures": {
			sheet: []*pb.Characteristic{c("play", 1), c("nut", 1, "play"), moving(c("screw", 1), "play")},
			want:  []string{"screw", "play", "nut"},
		},
		"not where the adjuster has to wait": {
			sheet: []*pb.Characteristic{c("play", 1), moving(c("screw", 1, "play"), "play")},
			want:  []string{"play", "screw"},
		},
		"not from another place": {
			sheet: []*pb.Characteristic{c("play", 1), c("b", 1), moving(c("screw", 2), "play")},
			want:  []string{"play", "b", "screw"},
		},
		"no engine started early to save a walk": {
			sheet: []*pb.Characteristic{c("snap", 2), c("oil", 1), with(c("warm", 3), on), with(c("stop", 2), on)},
			want:  []string{"snap", "oil", "warm", "stop"},
		},
		"cold work before the engine runs": {
			sheet: []*pb.Characteristic{c("a", 1), with(c("warm", 2), on), with(c("valves", 3), cold), c("b", 4), with(c("idle", 2), on)},
			want:  []string{"a", "warm", "valves", "b", "idle"},
		},
	} {
		t.Run(name, func(t *testing.T) {
			if got := ids(inWalkingOrder(test.sheet, movedAlone)); !slices.Equal(got, test.want) {
				t.Errorf("got %v, want %v", got, test.want)
			}
		})
	}
}

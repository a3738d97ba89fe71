package jobplan

import (
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// inWalkingOrder orders steps so that a technician walks round the machine as
// little as can be had without searching: he stays at a place as long as there
// is anything ready to be done there, and then goes to the place of the first
// ready step on the sheet. A step is ready when all is done of what [predecessors]
// puts before it.
//
// The steps come in sheet order, each after its prerequisites; the places are
// never changed more often than in that order. For suppose that so far the first
// k runs of sheet order are done. All that is ready at the current place having
// been done, the first step left is ready, so its place is next, and all of run
// k+1 that is left can be done there.
func inWalkingOrder(steps []*pb.Characteristic, moved func(*pb.Characteristic) []string) []*pb.Characteristic {
	steps = adjustersFirst(steps, moved)
	before := predecessors(steps, moved)
	waits := make([]int, len(steps))
	followers := make([][]int, len(steps))
	for i, earlier := range before {
		waits[i] = len(earlier)
		for _, e := range earlier {
			followers[e] = append(followers[e], i)
		}
	}
	ordered := make([]*pb.Characteristic, 0, len(steps))
	done := make([]bool, len(steps))
	here := pb.Group_GROUP_UNSPECIFIED
	for len(ordered) < len(steps) {
		next := -1
		for i, c := range steps {
			if done[i] || waits[i] > 0 {
				continue
			}
			if c.GetGroup() == here {
				next = i
				break
			}
			if next < 0 {
				next = i // the first step left is always ready, so there is one
			}
		}
		done[next] = true
		here = steps[next].GetGroup()
		ordered = append(ordered, steps[next])
		for _, f := range followers[next] {
			waits[f]--
		}
	}
	return ordered
}

// adjustersFirst draws an adjuster that stands after what it moves, at the same
// place, to just before it, where its prerequisites allow: one sets, then
// measures. The order stays one in which each comes after its prerequisites, and
// the places change no more often than before. One that needs the engine running
// is not drawn before something that does not.
func adjustersFirst(steps []*pb.Characteristic, moved func(*pb.Characteristic) []string) []*pb.Characteristic {
	ordered := slices.Clone(steps)
	for _, adjuster := range steps {
		place := places(ordered)
		from := place[adjuster.GetId()]
		to := from
		for _, id := range moved(adjuster) {
			if i, ok := place[id]; ok && i < to && ordered[i].GetGroup() == adjuster.GetGroup() && (running(ordered[i]) || !running(adjuster)) {
				to = i
			}
		}
		for _, id := range adjuster.GetPrerequisites() {
			if i, ok := place[id]; ok && i >= to {
				to = from
			}
		}
		if to < from {
			ordered = slices.Insert(slices.Delete(ordered, from, from+1), to, adjuster)
		}
	}
	return ordered
}

// predecessors returns, for each step, the places of those that come first, all of
// them earlier in the order given:
//
//   - its prerequisites;
//   - adjusters that move it;
//   - for a step with the engine running or warm, whatever the order given does
//     before it first has the engine running: nobody starts an engine early to
//     save a walk;
//   - for such a step, too, those before it that need the engine cold or the
//     battery at rest, which would be hours off afterwards.
func predecessors(steps []*pb.Characteristic, moved func(*pb.Characteristic) []string) [][]int {
	place := places(steps)
	before := make([][]int, len(steps))
	add := func(i, earlier int) {
		if earlier < i && !slices.Contains(before[i], earlier) {
			before[i] = append(before[i], earlier)
		}
	}
	firstRun := slices.IndexFunc(steps, running)
	for i, c := range steps {
		for _, id := range c.GetPrerequisites() {
			if p, ok := place[id]; ok {
				add(i, p)
			}
		}
		for _, id := range moved(c) {
			if m, ok := place[id]; ok {
				add(m, i)
			}
		}
		if !running(c) {
			continue
		}
		for p := range i {
			if p < firstRun || atRest(steps[p]) {
				add(i, p)
			}
		}
	}
	return before
}

// running reports whether a step needs the engine running, or warm from it, or
// the battery on charge: what is live.
func running(c *pb.Characteristic) bool {
	return hasCondition(c, pb.Condition_CONDITION_ENGINE_RUNNING, pb.Condition_CONDITION_ENGINE_WARM,
		pb.Condition_CONDITION_BATTERY_CHARGING)
}

// atRest reports whether a step needs a machine whose engine has not run for
// hours.
func atRest(c *pb.Characteristic) bool {
	return hasCondition(c, pb.Condition_CONDITION_ENGINE_COLD, pb.Condition_CONDITION_BATTERY_AT_REST)
}

func hasCondition(c *pb.Characteristic, wanted ...pb.Condition) bool {
	return slices.ContainsFunc(c.GetReferenceConditions(), func(has pb.Condition) bool { return slices.Contains(wanted, has) })
}

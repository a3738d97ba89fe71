package jobplan

import (
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// selection returns which characteristics are steps of a phase, in sheet order:
//
//   - those required in it;
//   - adjusters that move a step;
//   - what a step has as a prerequisite, unless an earlier phase requires it and
//     so has seen to it.
//
// moved tells what an adjuster moves.
func selection(characteristics []*pb.Characteristic, phase pb.Phase, moved func(*pb.Characteristic) []string) []*pb.Characteristic {
	place := places(characteristics)
	in := make([]bool, len(characteristics))
	var waiting []int
	take := func(i int) {
		if !in[i] {
			in[i] = true
			waiting = append(waiting, i)
		}
	}
	adjusters := make(map[string][]int) // by what they move
	for i, c := range characteristics {
		for _, id := range moved(c) {
			adjusters[id] = append(adjusters[id], i)
		}
		if slices.Contains(c.GetRequiredIn(), phase) {
			take(i)
		}
	}
	for len(waiting) > 0 {
		c := characteristics[waiting[0]]
		waiting = waiting[1:]
		for _, id := range c.GetPrerequisites() {
			if i, ok := place[id]; ok && !doneBefore(characteristics[i], phase) {
				take(i)
			}
		}
		for _, i := range adjusters[c.GetId()] {
			take(i)
		}
	}
	var steps []*pb.Characteristic
	for i, c := range characteristics {
		if in[i] {
			steps = append(steps, c)
		}
	}
	return steps
}

// doneBefore reports whether a phase before this one requires a characteristic.
func doneBefore(c *pb.Characteristic, phase pb.Phase) bool {
	return slices.ContainsFunc(c.GetRequiredIn(), func(p pb.Phase) bool { return p < phase })
}

func places(characteristics []*pb.Characteristic) map[string]int {
	place := make(map[string]int, len(characteristics))
	for i, c := range characteristics {
		place[c.GetId()] = i
	}
	return place
}

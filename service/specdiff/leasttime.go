package specdiff

import (
	"fmt"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// leastTimes compares the least time of each phase, in the order of the phases:
// in which order a sheet lists them says nothing.
func leastTimes(d *change, before, after []*pb.LeastTime) {
	was, is := leastByPhase(before), leastByPhase(after)
	var phases []pb.Phase
	for _, least := range slices.Concat(before, after) {
		phases = append(phases, least.GetPhase())
	}
	slices.Sort(phases)
	for _, phase := range slices.Compact(phases) {
		d.value("least_times."+phrase.Name(phase), "least time of "+phrase.Phase(phase), was[phase], is[phase])
	}
}

// leastByPhase says the least times that are stated.
func leastByPhase(list []*pb.LeastTime) map[pb.Phase]string {
	said := make(map[pb.Phase]string, len(list))
	for _, least := range list {
		said[least.GetPhase()] = fmt.Sprintf("%d min", least.GetMinutes())
	}
	return said
}

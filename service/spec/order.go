package spec

import (
	"container/heap"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// inJobOrder returns the characteristics in the order given, except that each
// comes after those of its prerequisites that are among them: of all such
// orders, the one that is nearest to the given one from its start. Those in a
// cycle, or behind one, come last as they stood; how many is returned too.
func inJobOrder(characteristics []*pb.Characteristic) (ordered []*pb.Characteristic, cyclic int) {
	place := make(map[string]int, len(characteristics))
	for i, ch := range characteristics {
		place[ch.GetId()] = i
	}
	waiting := make([]int, len(characteristics)) // prerequisites still to come
	followers := make([][]int, len(characteristics))
	for i, ch := range characteristics {
		for _, id := range ch.GetPrerequisites() {
			if p, ok := place[id]; ok {
				waiting[i]++
				followers[p] = append(followers[p], i)
			}
		}
	}
	var ready places
	for i, n := range waiting {
		if n == 0 {
			ready = append(ready, i) // in rising order, so a heap already
		}
	}
	ordered = make([]*pb.Characteristic, 0, len(characteristics))
	for len(ready) > 0 {
		i := heap.Pop(&ready).(int)
		ordered = append(ordered, characteristics[i])
		for _, f := range followers[i] {
			if waiting[f]--; waiting[f] == 0 {
				heap.Push(&ready, f)
			}
		}
	}
	cyclic = len(characteristics) - len(ordered)
	if cyclic > 0 {
		for i, n := range waiting {
			if n > 0 {
				ordered = append(ordered, characteristics[i])
			}
		}
	}
	return ordered, cyclic
}

// places is a heap of places in a list, least first.
type places []int

func (p places) Len() int           { return len(p) }
func (p places) Less(i, j int) bool { return p[i] < p[j] }
func (p places) Swap(i, j int)      { p[i], p[j] = p[j], p[i] }
func (p *places) Push(x any)        { *p = append(*p, x.(int)) }
func (p *places) Pop() any {
	last := len(*p) - 1
	x := (*p)[last]
	*p = (*p)[:last]
	return x
}

// cycle returns the identifiers along one cycle of a relation, the first again
// at the end, or nil. Nodes and their neighbours are taken in the order given,
// so the answer is always the same; neighbours that are not nodes are ignored.
func cycle(nodes []string, neighbours func(string) []string) []string {
	const (
		unseen = iota
		onPath
		done
	)
	state := make(map[string]int, len(nodes))
	for _, n := range nodes {
		state[n] = unseen
	}
	var path []string
	var visit func(string) []string
	visit = func(n string) []string {
		state[n] = onPath
		path = append(path, n)
		for _, next := range neighbours(n) {
			s, ok := state[next]
			switch {
			case !ok || s == done:
			case s == onPath:
				for i, p := range path {
					if p == next {
						return append(append([]string(nil), path[i:]...), next)
					}
				}
			default:
				if found := visit(next); found != nil {
					return found
				}
			}
		}
		path = path[:len(path)-1]
		state[n] = done
		return nil
	}
	for _, n := range nodes {
		if state[n] == unseen {
			if found := visit(n); found != nil {
				return found
			}
		}
	}
	return nil
}

package options

import (
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// graph is what the options of a sheet say about each other. It is immutable.
type graph struct {
	sheet   *pb.SpecSheet
	options []*pb.Option
	place   map[string]int
	// requires holds what each option requires itself, in sheet order.
	requires []set
	// lacks is the first option that each one requires and the sheet lacks.
	lacks []string
	// excludes holds what each option excludes or is excluded by.
	excludes []set
	// closure holds each option with all that it requires, directly or not.
	closure []set
	// broken says that no consistent set has the option.
	broken []bool
	// clash holds, of each option that is not broken, the others that are not and
	// that no consistent set has together with it.
	clash []set
}

// newGraph compiles the options of a sheet, linted or not: of options with one
// identifier the first counts, and none beyond [maxOptions].
func newGraph(sheet *pb.SpecSheet) *graph {
	listed := sheet.GetOptions()
	g := &graph{sheet: sheet, place: make(map[string]int, len(listed))}
	for _, option := range listed {
		if _, twice := g.place[option.GetId()]; !twice && len(g.options) < maxOptions {
			g.place[option.GetId()] = len(g.options)
			g.options = append(g.options, option)
		}
	}
	n := len(g.options)
	g.requires, g.excludes, g.closure, g.clash = make([]set, n), make([]set, n), make([]set, n), make([]set, n)
	g.lacks, g.broken = make([]string, n), make([]bool, n)
	for i, option := range g.options {
		for _, id := range option.GetRequires() {
			if j, ok := g.place[id]; ok {
				g.requires[i].add(j)
			} else if g.lacks[i] == "" {
				g.lacks[i] = id
			}
		}
		for _, id := range option.GetExcludes() {
			if j, ok := g.place[id]; ok {
				g.excludes[i].add(j)
				g.excludes[j].add(i)
			}
		}
	}
	g.close()
	return g
}

// close works out what follows from the requirements.
func (g *graph) close() {
	excluded := make([]set, len(g.options)) // by an option or what it requires
	for i := range g.options {
		g.closure[i] = g.closureOf(i)
		for j := range g.closure[i].all() {
			excluded[i] = excluded[i].union(g.excludes[j])
			g.broken[i] = g.broken[i] || g.lacks[j] != ""
		}
		g.broken[i] = g.broken[i] || excluded[i].meets(g.closure[i])
	}
	for i := range g.options {
		for j := range g.options {
			if !g.broken[i] && !g.broken[j] && excluded[i].meets(g.closure[j]) {
				g.clash[i].add(j)
			}
		}
	}
}

func (g *graph) closureOf(i int) set {
	var reached set
	reached.add(i)
	for todo := []int{i}; len(todo) > 0; {
		next := g.requires[todo[0]].minus(reached)
		todo = slices.AppendSeq(todo[1:], next.all())
		reached = reached.union(next)
	}
	return reached
}

// closureOfSet holds the options of a set with all that they require.
func (g *graph) closureOfSet(s set) set {
	closed := s
	for i := range s.all() {
		closed = closed.union(g.closure[i])
	}
	return closed
}

// split tells the places of the options that the sheet has from the
// identifiers, sorted, of those that it has not.
func (g *graph) split(fitted []string) (known set, unknown []string) {
	for _, id := range fitted {
		if i, ok := g.place[id]; ok {
			known.add(i)
		} else {
			unknown = append(unknown, id)
		}
	}
	slices.Sort(unknown)
	return known, slices.Compact(unknown)
}

func (g *graph) ids(s set) []string {
	var ids []string
	for i := range s.all() {
		ids = append(ids, g.options[i].GetId())
	}
	return ids
}

package options

import (
	"fmt"
	"slices"
	"strings"

	"github.com/snapgauge/snapgauge/service/phrase"
)

// name is an option's name in words, with its identifier where another option
// has the same name.
func (g *graph) name(i int) string {
	name := g.options[i].GetDisplayName()
	if name == "" {
		return g.options[i].GetId()
	}
	for j, other := range g.options {
		if j != i && other.GetDisplayName() == name {
			return fmt.Sprintf("%s (%s)", name, g.options[i].GetId())
		}
	}
	return name
}

func (g *graph) names(s set) string {
	var names []string
	for i := range s.all() {
		names = append(names, g.name(i))
	}
	return phrase.All(names)
}

// message says a reason with the chain that leads to it, and gives the options
// whose statements make the chain.
func (g *graph) message(r reason) (string, set) {
	if r.missing {
		return g.missingMessage(r)
	}
	if r.a != r.b && g.excludes[r.a].has(r.b) {
		return fmt.Sprintf("%s and %s exclude each other.", g.name(r.a), g.name(r.b)), r.cause()
	}
	head := fmt.Sprintf("%s cannot be fitted together with %s", g.name(r.a), g.name(r.b))
	if r.a == r.b {
		head = fmt.Sprintf("%s cannot be fitted at all", g.name(r.a))
		if path, ok := g.pathToLack(r.a); ok {
			last := path[len(path)-1]
			steps := append(g.steps(path), fmt.Sprintf("%s requires %q, which this sheet does not have", g.name(last), g.lacks[last]))
			return fmt.Sprintf("%s: %s.", head, withLast(steps)), places(path)
		}
	}
	left, right := g.pathsToExclusion(r.a, r.b)
	steps := g.steps(left)
	for _, step := range g.steps(right) {
		if !slices.Contains(steps, step) {
			steps = append(steps, step)
		}
	}
	x, y := left[len(left)-1], right[len(right)-1]
	if !slices.Contains(g.options[x].GetExcludes(), g.options[y].GetId()) {
		x, y = y, x
	}
	steps = append(steps, fmt.Sprintf("%s excludes %s", g.name(x), g.name(y)))
	return fmt.Sprintf("%s: %s.", head, withLast(steps)), places(left).union(places(right))
}

func (g *graph) missingMessage(r reason) (string, set) {
	further := g.requires[r.b]
	text := fmt.Sprintf("%s requires %s, which is not fitted", g.name(r.a), g.name(r.b))
	if !further.empty() {
		text += fmt.Sprintf("; %s in turn requires %s", g.name(r.b), g.names(further))
	}
	var chain set
	chain.add(r.a)
	if !further.empty() {
		chain.add(r.b)
	}
	return text + ".", chain
}

// steps says a chain of requirements, one for each link.
func (g *graph) steps(path []int) []string {
	var steps []string
	for i := 1; i < len(path); i++ {
		steps = append(steps, fmt.Sprintf("%s requires %s", g.name(path[i-1]), g.name(path[i])))
	}
	return steps
}

// withLast joins the steps of a proof: "a, b, and c".
func withLast(steps []string) string {
	if len(steps) < 2 {
		return strings.Join(steps, "")
	}
	return strings.Join(steps[:len(steps)-1], ", ") + ", and " + steps[len(steps)-1]
}

// pathsToExclusion finds the shortest chains of requirements from two options,
// or twice from one, to two that exclude each other.
func (g *graph) pathsToExclusion(a, b int) (left, right []int) {
	fromA, fromB := g.paths(a), g.paths(b)
	for x := range g.closure[a].all() {
		for y := range g.closure[b].and(g.excludes[x]).all() {
			if left == nil || len(fromA[x])+len(fromB[y]) < len(left)+len(right) {
				left, right = fromA[x], fromB[y]
			}
		}
	}
	return left, right
}

// pathToLack finds the shortest chain of requirements from an option to one
// that requires what the sheet does not have.
func (g *graph) pathToLack(a int) (path []int, ok bool) {
	from := g.paths(a)
	for i := range g.closure[a].all() {
		if g.lacks[i] != "" && (path == nil || len(from[i]) < len(path)) {
			path = from[i]
		}
	}
	return path, path != nil
}

// paths finds a shortest chain of requirements from an option to each one it
// leads to, both ends included.
func (g *graph) paths(a int) map[int][]int {
	found := map[int][]int{a: {a}}
	for todo := []int{a}; len(todo) > 0; todo = todo[1:] {
		for j := range g.requires[todo[0]].all() {
			if found[j] == nil {
				found[j] = append(slices.Clone(found[todo[0]]), j)
				todo = append(todo, j)
			}
		}
	}
	return found
}

func places(path []int) set {
	var s set
	for _, i := range path {
		s.add(i)
	}
	return s
}

// cautions joins what the options of a set say to beware of, each text once.
func (g *graph) cautions(s set) string {
	return g.texts(s, " ", func(i int) string {
		if caution := g.options[i].GetCaution(); caution != "" {
			return phrase.Stop(caution)
		}
		return ""
	})
}

// sources joins where the options of a set come from, each text once.
func (g *graph) sources(s set) string {
	return g.texts(s, "; ", func(i int) string { return g.options[i].GetSource() })
}

func (g *graph) texts(s set, between string, text func(int) string) string {
	var texts []string
	for i := range s.all() {
		if t := text(i); t != "" && !slices.Contains(texts, t) {
			texts = append(texts, t)
		}
	}
	return strings.Join(texts, between)
}

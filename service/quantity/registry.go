package quantity

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// definition is one entry of the catalogue. A value v in this unit is
// v × factor + offset in the SI unit of its dimension.
type definition struct {
	code        string
	symbol      string
	singular    string // the symbol beside the value one, where it differs
	dim         Dimension
	factor      *big.Rat
	offset      *big.Rat // nil for zero
	nonNegative bool
	aliases     []string

	steps []step // to each unit of the same dimension, by their place
	place int    // among the units of the same dimension
}

// registry is the catalogue prepared for look-up and conversion.
type registry struct {
	all    []Unit
	one    *definition
	names  []string        // codes, symbols and aliases, in catalogue order
	byName map[string]Unit // exact spelling
	folded map[string]Unit // by fold, where it names one unit only
}

// units is written once, while the package starts.
var units = newRegistry(slices.Concat(
	plainCatalogue(), geometryCatalogue(), mechanicsCatalogue(), electricsCatalogue()))

// newRegistry panics when two units claim one name, since that can only be a
// slip in the catalogue.
func newRegistry(catalogue []*definition) *registry {
	r := &registry{
		byName: make(map[string]Unit),
		folded: make(map[string]Unit),
	}
	groups := make(map[Dimension][]*definition)
	for _, d := range catalogue {
		u := Unit{d}
		if d.code == "1" {
			u, r.one = Unit{}, d
		}
		r.all = append(r.all, u)
		d.place = len(groups[d.dim])
		groups[d.dim] = append(groups[d.dim], d)
		r.name(u, d.code)
		if d.symbol != "" && d.symbol != d.code {
			r.name(u, d.symbol)
		}
		for _, alias := range d.aliases {
			r.name(u, alias)
		}
	}
	for _, group := range groups {
		connect(group)
	}
	r.fold()
	return r
}

// connect prepares the conversions among units of one dimension.
func connect(group []*definition) {
	for _, d := range group {
		d.steps = make([]step, len(group))
	}
	for _, a := range group {
		for _, b := range group[a.place:] {
			large, small := a, b
			if a.factor.Cmp(b.factor) < 0 {
				large, small = b, a
			}
			down := newStep(large, small)
			large.steps[small.place], small.steps[large.place] = down, down.inverse()
		}
	}
}

func (r *registry) name(u Unit, name string) {
	if _, taken := r.byName[name]; taken {
		panic(fmt.Sprintf("quantity: two units or two aliases are named %q", name))
	}
	r.byName[name] = u
	r.names = append(r.names, name)
}

// fold fills the look-up that overlooks case, leaving out what would then
// name two units.
func (r *registry) fold() {
	ambiguous := make(map[string]bool)
	for _, name := range r.names {
		key := fold(name)
		if other, ok := r.folded[key]; ok && other != r.byName[name] {
			ambiguous[key] = true
		}
		if _, ok := r.folded[key]; !ok {
			r.folded[key] = r.byName[name]
		}
	}
	for key := range ambiguous {
		delete(r.folded, key)
	}
}

// pi to 40 digits: enough that every float64 derived from it is the nearest.
// It cancels exactly between degrees and turns.
const pi = "3.141592653589793238462643383279502884197"

// exact multiplies decimal numbers without rounding; a leading slash divides.
func exact(factors ...string) *big.Rat {
	product := big.NewRat(1, 1)
	for _, f := range factors {
		digits, divide := strings.CutPrefix(f, "/")
		x, ok := new(big.Rat).SetString(digits)
		if !ok {
			panic(fmt.Sprintf("quantity: %q is no number", f))
		}
		if divide {
			x.Inv(x)
		}
		product.Mul(product, x)
	}
	return product
}

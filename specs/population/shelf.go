package population

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
	"github.com/snapgauge/snapgauge/specs"
)

// family is one spec: a model, model year and market, with all its revisions.
type family struct {
	index     int
	id        string
	maker     string
	market    string
	model     string
	year      int
	names     []string // of the model, its own first
	revisions []*spec.Revision
	// sets are the sets of options that units of this family may have, nothing
	// first.
	sets     [][]string
	number   numbering
	firstDay time.Time
}

// inForce gives the revision in force, or nil.
func (f *family) inForce(at time.Time) *spec.Revision {
	for _, r := range slices.Backward(f.revisions) {
		if !r.EffectiveTime().After(at) {
			return r
		}
	}
	return nil
}

// families loads the demonstration sheets, once.
var families = sync.OnceValues(func() ([]*family, error) {
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		return nil, err
	}
	library, err := spec.NewLibrary(revisions)
	if err != nil {
		return nil, err
	}
	var list []*family
	for i, id := range library.SpecIDs() {
		ordered, err := library.Revisions(id)
		if err != nil {
			return nil, err
		}
		slices.Reverse(ordered)
		newest := ordered[len(ordered)-1]
		s := newest.Sheet()
		f := &family{
			index: i, id: id, maker: s.GetMake(), market: s.GetMarket(), model: s.GetModel(), year: int(s.GetModelYear()),
			names: append([]string{s.GetModel()}, s.GetModelAliases()...), revisions: ordered,
			firstDay: ordered[0].EffectiveTime(),
		}
		if f.number, err = newNumbering(s.GetVin()); err != nil {
			return nil, fmt.Errorf("%s: %w", id, err)
		}
		if f.sets, err = optionSets(ordered); err != nil {
			return nil, fmt.Errorf("%s: %w", id, err)
		}
		list = append(list, f)
	}
	return list, nil
})

// optionSets gives nothing, and each option with what it requires, that go
// together on every revision.
func optionSets(revisions []*spec.Revision) ([][]string, error) {
	sets := [][]string{nil}
	for _, option := range revisions[len(revisions)-1].Sheet().GetOptions() {
		set := append([]string{option.GetId()}, option.GetRequires()...)
		fits := true
		for _, r := range revisions {
			resolved, err := r.Resolve(set, nil)
			if err != nil {
				return nil, err
			}
			if len(resolved.Unknown)+len(resolved.Conflicts)+len(resolved.Unmet) > 0 {
				fits = false
			}
		}
		if fits {
			slices.Sort(set)
			sets = append(sets, set)
		}
	}
	return sets, nil
}

// numbering gives each unit of a family a VIN of its own.
type numbering struct {
	pattern string
	first   int   // serial number
	count   int   // serial numbers from there on
	free    []int // positions in front of the serial number that may vary
	check   bool  // position 9 takes the check digit
}

// variants are the characters that a free position takes.
const variants = "ABCDEFGHJKLMNPRSTUVW"

const (
	checkPlace  = 8 // positions from 0
	serialPlace = vin.Length - spec.SerialLength
)

func newNumbering(c *pb.VinCoverage) (numbering, error) {
	n := numbering{pattern: c.GetPatterns()[0], first: 101, count: 999_999}
	if strings.Trim(n.pattern[serialPlace:], "?") != "" {
		return n, fmt.Errorf("VIN pattern %s: the serial number is not free", n.pattern)
	}
	if from := c.GetSerialFrom(); from != "" {
		if _, err := fmt.Sscanf(from, "%d", &n.first); err != nil {
			return n, fmt.Errorf("serial number %s: %w", from, err)
		}
	}
	last := 999_999
	if to := c.GetSerialTo(); to != "" {
		if _, err := fmt.Sscanf(to, "%d", &last); err != nil {
			return n, fmt.Errorf("serial number %s: %w", to, err)
		}
	}
	n.count = last - n.first + 1
	for i := range serialPlace {
		switch {
		case n.pattern[i] != '?':
		case i == checkPlace:
			n.check = true
		default:
			n.free = append(n.free, i)
		}
	}
	return n, nil
}

// vin gives the VIN of the unit of that number, from 0. Numbers that differ give
// VINs that differ, up to twenty times the serial numbers at least.
func (n numbering) vin(unit int) string {
	var text [vin.Length]byte
	copy(text[:], n.pattern)
	serial, variant := n.first+unit%n.count, unit/n.count
	for i := vin.Length - 1; i >= serialPlace; i-- {
		text[i] = byte('0' + serial%10)
		serial /= 10
	}
	for _, i := range slices.Backward(n.free) {
		text[i] = variants[variant%len(variants)]
		variant /= len(variants)
	}
	if n.check {
		text[checkPlace] = '0'
		text[checkPlace], _ = vin.CheckDigit(string(text[:])) // the shape is right
	}
	return string(text[:])
}

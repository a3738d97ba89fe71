package main

import (
	"fmt"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// specSet are the sheets that were given together, in their order.
type specSet []*specFile

// assumed are the sheets of the set that count as published before f is, because
// f cannot be checked without: those that it builds on, and the revisions of its
// spec between the newest that is published and its own, with what these build on.
// The error is a *failure.
func (s specSet) assumed(f *specFile, newest int32) ([]*specFile, error) {
	var found []*specFile
	var add func(g *specFile) error
	bases := func(g *specFile) error {
		d := g.sheet.GetDerived()
		base := specRef{d.GetBaseSpecId(), d.GetBaseRevision()}
		if d == nil || base == g.ref() {
			return nil
		}
		b, err := s.only(base, g, "derived.base_spec_id")
		if b == nil || err != nil {
			return err
		}
		return add(b)
	}
	add = func(g *specFile) error {
		if g == f {
			return nil // a circle, which the server tells
		}
		for _, other := range found {
			if other == g {
				return nil
			}
		}
		found = append(found, g)
		return bases(g)
	}
	if err := bases(f); err != nil {
		return nil, err
	}
	own := f.ref()
	for _, g := range s {
		if ref := g.ref(); ref.spec != own.spec || ref.spec == "" || ref.revision <= newest || ref.revision >= own.revision {
			continue
		}
		one, err := s.only(g.ref(), f, "")
		if err != nil {
			return nil, err
		}
		if err := add(one); err != nil {
			return nil, err
		}
	}
	return found, nil
}

// only gives the sheet of the set that is a revision, nil where there is none. Of
// several, none is as good as another: the *failure is told at a field of the
// sheet that needs it.
func (s specSet) only(ref specRef, needs *specFile, field string) (*specFile, error) {
	var one *specFile
	for _, f := range s {
		if f.ref() != ref || f == needs {
			continue
		}
		if one != nil {
			return nil, &failure{code: exitInput, lines: []string{fmt.Sprintf("%s%s is in %s and in %s; want one of them",
				needs.at(field), layout.Clean(ref.String()), one.name, f.name)}}
		}
		one = f
	}
	return one, nil
}

// beside gives the sheets as the request has them, and where they come from.
func beside(files []*specFile) (sheets []*pb.SheetFile, places []place) {
	for i, f := range files {
		p := f.place
		p.root = fmt.Sprintf("assumed_files[%d]", i)
		sheets, places = append(sheets, f.sheet), append(places, p)
	}
	return sheets, places
}

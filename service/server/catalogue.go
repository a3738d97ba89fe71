package server

import (
	"errors"
	"fmt"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
)

// Catalogue is an immutable set of sheets, each with its engine. It is safe for
// concurrent use.
type Catalogue struct {
	library *spec.Library
	engines map[string]*gauge.Engine // by digest of the revision
}

// NewCatalogue arranges the revisions and compiles each of them. It returns a
// *[spec.SheetError] with everything that is wrong with any: nothing about a
// sheet is left to be found out while judging.
func NewCatalogue(revisions []*spec.Revision) (*Catalogue, error) {
	var problems []spec.Problem
	library, err := spec.NewLibrary(revisions)
	if err != nil {
		var bad *spec.SheetError
		if !errors.As(err, &bad) {
			return nil, err
		}
		problems = append(problems, bad.Problems...)
	}
	engines := make(map[string]*gauge.Engine, len(revisions))
	for _, r := range revisions {
		engine, err := gauge.Compile(r)
		if err != nil {
			var bad *spec.SheetError
			if !errors.As(err, &bad) {
				return nil, fmt.Errorf("%s: %w", r.Name(), err)
			}
			for _, p := range bad.Problems {
				p.Message = r.Name() + ": " + p.Message
				problems = append(problems, p)
			}
			continue
		}
		engines[r.Digest()] = engine
	}
	if len(problems) > 0 {
		return nil, &spec.SheetError{Problems: problems}
	}
	return &Catalogue{library: library, engines: engines}, nil
}

// Library returns the sheets.
func (c *Catalogue) Library() *spec.Library { return c.library }

// Gauge judges a record by the revision that was in force for its unit at
// opt.AsOf. Besides the errors of [gauge.Engine.Gauge] it returns those of
// [spec.Library.InForce].
func (c *Catalogue) Gauge(record *pb.SetupRecord, opt gauge.Options) (*pb.Report, error) {
	engine, err := c.inForce(record.GetUnit(), opt.AsOf)
	if err != nil {
		return nil, err
	}
	return engine.Gauge(record, opt)
}

// inForce returns what judged a unit at an instant. The errors are those of
// [spec.Library.InForce].
func (c *Catalogue) inForce(unit *pb.Unit, asOf time.Time) (*gauge.Engine, error) {
	revision, err := c.library.InForce(unit.GetModel(), int(unit.GetModelYear()), unit.GetMarket(), asOf)
	if err != nil {
		return nil, err
	}
	return c.engines[revision.Digest()], nil
}

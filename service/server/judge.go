package server

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

// sheets answers by which sheet a machine is judged, planned and looked up. What
// is in force is for the catalogue to say, in every call anew.
type sheets struct {
	live *catalogue.Catalogue
	now  func() time.Time
	log  *slog.Logger
}

// judge judges a record by the revision in force for its unit at asOf, as far as
// that was known at another instant; a nil one stands for all that is known now.
// Of opt, AsOf is set here.
//
// A rule that failed does not keep the report from its caller, which says so; the
// log tells those who keep the sheets why. The errors are those of
// [catalogue.Catalogue.Judge] and a *[gauge.RecordError].
func (s *sheets) judge(ctx context.Context, record *pb.SetupRecord, asOf, known *timestamppb.Timestamp, opt gauge.Options) (*gauge.Engine, *pb.Report, error) {
	choice, engine, err := s.choose(ctx, record.GetUnit(), instantOf(asOf), instantOf(known))
	if err != nil {
		return nil, nil, err
	}
	opt.AsOf = asOf.AsTime()
	report, err := engine.Gauge(record, opt)
	if report == nil {
		return nil, nil, err
	}
	if err != nil {
		s.log.Warn("a rule of a sheet failed", "cause", err)
	}
	report.Why = choice.Why
	return engine, report, nil
}

// choose finds the revision in force for a unit and the engine that judges by it.
// The errors are those of [catalogue.Catalogue.Judge].
func (s *sheets) choose(ctx context.Context, unit *pb.Unit, asOf, known time.Time) (catalogue.Choice, *gauge.Engine, error) {
	number, err := vin.Parse(unit.GetVin())
	if err != nil {
		number = "" // the report says so
	}
	return s.live.Judge(ctx, catalogue.Query{
		Model:     unit.GetModel(),
		ModelYear: int(unit.GetModelYear()),
		Market:    unit.GetMarket(),
		VIN:       number,
		AsOf:      asOf,
		Known:     known,
	})
}

// thatJudged returns the engine of the revision that a stored report names: that
// very content, withdrawn since or not. A *[notHeldError] says that it is not
// here.
func (s *sheets) thatJudged(ctx context.Context, setup string, report *pb.Report) (*gauge.Engine, error) {
	notHeld := &notHeldError{setup: setup, revision: report.GetSpecRevision(), digest: report.GetDigest()}
	specID, number, err := parseSpecName(report.GetSpecRevision())
	if err != nil || number == 0 {
		return nil, notHeld
	}
	engine, err := s.live.Engine(ctx, specID, number)
	var missing *spec.NotFoundError
	switch {
	case errors.As(err, &missing):
		return nil, notHeld
	case err != nil:
		return nil, err
	case engine.Revision().Digest() != report.GetDigest():
		return nil, notHeld
	}
	return engine, nil
}

// seek returns the revision that a person means, and why it is that one. The
// errors are those of [catalogue.Catalogue.Seek] and of
// [catalogue.Catalogue.Revision].
func (s *sheets) seek(ctx context.Context, q catalogue.Query) (*spec.Revision, string, error) {
	return s.settle(ctx, func() (catalogue.Choice, error) { return s.live.Seek(ctx, q) })
}

// inForce returns the revision of a spec that is in force, and why.
func (s *sheets) inForce(ctx context.Context, specID string, asOf, known time.Time) (*spec.Revision, string, error) {
	return s.settle(ctx, func() (catalogue.Choice, error) { return s.live.InForceByID(ctx, specID, asOf, known) })
}

// longLoad is how long it may take to load what was chosen before the choice is
// made again: meanwhile it may have been withdrawn.
const longLoad = 50 * time.Millisecond

// settle loads the sheet that is chosen, and makes sure that it is still the
// choice once it is loaded.
func (s *sheets) settle(ctx context.Context, choose func() (catalogue.Choice, error)) (*spec.Revision, string, error) {
	for {
		choice, err := choose()
		if err != nil {
			return nil, "", err
		}
		start := time.Now()
		revision, err := s.live.Revision(ctx, choice.SpecID, choice.Revision)
		if err != nil {
			return nil, "", err
		}
		if time.Since(start) < longLoad {
			return revision, choice.Why, nil
		}
	}
}

// named returns the revision that a resource name says: that of its number, or
// the one in force now.
func (s *sheets) named(ctx context.Context, name string) (*spec.Revision, error) {
	specID, number, err := parseSpecName(name)
	if err != nil {
		return nil, err
	}
	if number == 0 {
		revision, _, err := s.inForce(ctx, specID, s.now().UTC(), time.Time{})
		return revision, err
	}
	if err := s.current(ctx, specID); err != nil {
		return nil, err
	}
	return s.live.Revision(ctx, specID, number)
}

// current makes sure that what is read of a spec after it is no older than the
// catalogue may be. Its errors are a *[catalogue.StaleError] and a
// *[spec.NotFoundError] for a spec that there is not.
func (s *sheets) current(ctx context.Context, specID string) error {
	_, err := s.live.InForceByID(ctx, specID, time.Time{}, time.Time{})
	var notInForce *spec.NotInForceError
	if errors.As(err, &notInForce) {
		return nil
	}
	return err
}

// currentAll is [sheets.current] for what is read of all specs.
func (s *sheets) currentAll(ctx context.Context) error {
	specID := "" // where there is none, the answer is that there is none
	if heads := s.live.Heads("", 1); len(heads) > 0 {
		specID = heads[0].SpecID
	}
	err := s.current(ctx, specID)
	var missing *spec.NotFoundError
	if errors.As(err, &missing) {
		return nil
	}
	return err
}

// instantOf is the time of a stamp, and the zero time where there is none. To a
// catalogue the zero time means no particular one, so for the first instant that
// a stamp can say, which is the same, the next one is taken.
func instantOf(stamp *timestamppb.Timestamp) time.Time {
	if stamp == nil {
		return time.Time{}
	}
	if t := stamp.AsTime(); !t.IsZero() {
		return t
	}
	return time.Time{}.Add(1).UTC()
}

// readVIN reads a VIN that a request names. An empty one is none.
func readVIN(field, text string) (vin.VIN, error) {
	if text == "" {
		return "", nil
	}
	number, err := vin.Parse(text)
	if err != nil {
		return "", badField(field, reasonVINInvalid, "%v", err)
	}
	return number, nil
}

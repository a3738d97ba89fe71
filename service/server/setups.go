package server

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/near"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/vin"
)

// setupService judges records and keeps them.
type setupService struct {
	pb.UnimplementedSetupServiceServer
	sheets  *sheets
	store   store.Store
	now     func() time.Time
	metrics *metrics
}

// ValidateSetup touches neither the store of set-ups nor the clock.
func (s *setupService) ValidateSetup(ctx context.Context, req *pb.ValidateSetupRequest) (*pb.ValidateSetupResponse, error) {
	record := req.GetRecord()
	asOf := record.GetFinishTime()
	if req.AsOfTime != nil {
		asOf = req.GetAsOfTime()
	}
	_, report, err := s.sheets.judge(ctx, record, asOf, req.GetKnownTime(), gauge.Options{
		Units: system(req.GetUnitSystem()),
		Full:  req.GetView() == pb.ReportView_REPORT_VIEW_FULL,
	})
	if err != nil {
		return nil, err
	}
	s.metrics.judged(report)
	return &pb.ValidateSetupResponse{Report: report}, nil
}

// SubmitSetup keeps the report without the outcomes of each characteristic:
// those follow from the record and the revision that the report names.
func (s *setupService) SubmitSetup(ctx context.Context, req *pb.SubmitSetupRequest) (*pb.SubmitSetupResponse, error) {
	record := req.GetRecord()
	record.Expectation = nil
	requestID := strings.ToLower(req.GetRequestId()) // one UUID, however it is written
	if ahead := record.GetFinishTime().AsTime().Sub(s.now()); ahead > maxAhead {
		return nil, badField("record.finish_time", reasonTimeInvalid,
			"got %s, wanted a time that has come: a set-up is handed in when it is finished",
			record.GetFinishTime().AsTime().Format(time.RFC3339))
	}
	_, report, err := s.sheets.judge(ctx, record, record.GetFinishTime(), nil, gauge.Options{Units: system(req.GetUnitSystem())})
	if err != nil {
		if first, found := s.submitted(ctx, requestID, record); found {
			return &pb.SubmitSetupResponse{Setup: setupOf(first, false)}, nil
		}
		return nil, err
	}
	if err := s.correctsSameUnit(ctx, record); err != nil {
		return nil, err
	}
	id, err := uuid.NewV7()
	if err != nil {
		return nil, fmt.Errorf("new identifier: %w", err)
	}
	stored, created, err := s.store.Submit(ctx, store.Setup{
		ID:         id.String(),
		RequestID:  requestID,
		Shop:       record.GetShop(),
		Record:     record,
		Report:     report,
		CreateTime: s.now().UTC(),
	})
	if err != nil {
		return nil, err
	}
	if created {
		s.metrics.judged(report)
	}
	return &pb.SubmitSetupResponse{Setup: setupOf(stored, false)}, nil
}

// vinSlips is how many slips a mistyped VIN may be from the right one, so that a
// correction can correct it.
const vinSlips = 2

// correctsSameUnit refuses a correction of another machine's record, which would
// hide that record. What is not stored, or not of this shop, is the store's to
// refuse.
func (s *setupService) correctsSameUnit(ctx context.Context, record *pb.SetupRecord) error {
	id, named := store.ParseName(record.GetSupersedes())
	if !named {
		return nil
	}
	old, err := s.store.Get(ctx, id)
	switch {
	case errors.Is(err, store.ErrNotFound) || err == nil && old.Shop != record.GetShop():
		return nil
	case err != nil:
		return err
	}
	before, now := vin.Plain(old.Record.GetUnit().GetVin()), vin.Plain(record.GetUnit().GetVin())
	if near.Distance(before, now, vinSlips) > vinSlips {
		return badField("record.supersedes", reasonSupersedesOther,
			"got a set-up of the machine %s, wanted one of %s", clip(before), clip(now))
	}
	return nil
}

// submitted finds the set-up that this very request has stored before. A record
// that was judged once may not be judged any more: its sheet was withdrawn, or
// the catalogue is stale. Its first answer stands all the same.
//
// A store does not look for requests, but it lists what a shop did to a machine
// and finished at one instant, which is little.
func (s *setupService) submitted(ctx context.Context, requestID string, record *pb.SetupRecord) (store.Setup, bool) {
	query := store.Query{
		Filter: store.And{
			store.Compare{Field: store.FieldVIN, Op: store.Equal, Value: vin.Plain(record.GetUnit().GetVin())},
			store.Compare{Field: store.FieldShop, Op: store.Equal, Value: record.GetShop()},
			store.Compare{Field: store.FieldFinishTime, Op: store.Equal, Value: record.GetFinishTime().AsTime()},
		},
		Limit: firstStep,
	}
	for {
		stored, next, err := s.store.List(ctx, query)
		if err != nil {
			return store.Setup{}, false // why the record cannot be judged is told instead
		}
		for _, one := range stored {
			if one.RequestID == requestID && proto.Equal(one.Record, record) {
				return one, true
			}
		}
		if next.IsZero() {
			return store.Setup{}, false
		}
		query.After = next
	}
}

// GetSetup gives everything unless asked for less.
func (s *setupService) GetSetup(ctx context.Context, req *pb.GetSetupRequest) (*pb.GetSetupResponse, error) {
	id, ok := store.ParseName(req.GetName())
	if !ok {
		return nil, fmt.Errorf("%w: %.80q", store.ErrNotFound, req.GetName())
	}
	stored, err := s.store.Get(ctx, id)
	if err != nil {
		return nil, err
	}
	return &pb.GetSetupResponse{Setup: setupOf(stored, req.GetView() == pb.SetupView_SETUP_VIEW_BASIC)}, nil
}

// maxAhead is how far a shop's clock may be ahead of the service's. What is
// finished later than that would be judged by sheets that are not in force yet.
const maxAhead = 24 * time.Hour

// system is the system of units that the sentences of a report use.
func system(u pb.UnitSystem) quantity.System {
	if u == pb.UnitSystem_UNIT_SYSTEM_US {
		return quantity.USCustomary
	}
	return quantity.Metric
}

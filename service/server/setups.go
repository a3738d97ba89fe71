package server

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"github.com/google/uuid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/store"
)

// setupService judges records and keeps them.
type setupService struct {
	pb.UnimplementedSetupServiceServer
	judge   *Judge
	store   store.Store
	now     func() time.Time
	metrics *metrics
	log     *slog.Logger
}

// ValidateSetup touches neither the store nor the clock.
func (s *setupService) ValidateSetup(_ context.Context, req *pb.ValidateSetupRequest) (*pb.ValidateSetupResponse, error) {
	asOf := req.GetRecord().GetFinishTime().AsTime()
	if req.AsOfTime != nil {
		asOf = req.GetAsOfTime().AsTime()
	}
	report, err := s.gauge(req.GetRecord(), gauge.Options{
		AsOf:  asOf,
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
	if ahead := record.GetFinishTime().AsTime().Sub(s.now()); ahead > maxAhead {
		return nil, badField("record.finish_time", reasonTimeInvalid,
			"got %s, wanted a time that has come: a set-up is handed in when it is finished",
			record.GetFinishTime().AsTime().Format(time.RFC3339))
	}
	report, err := s.gauge(record, gauge.Options{
		AsOf:  record.GetFinishTime().AsTime(),
		Units: system(req.GetUnitSystem()),
	})
	if err != nil {
		return nil, err
	}
	id, err := uuid.NewV7()
	if err != nil {
		return nil, fmt.Errorf("new identifier: %w", err)
	}
	stored, created, err := s.store.Submit(ctx, store.Setup{
		ID:         id.String(),
		RequestID:  strings.ToLower(req.GetRequestId()), // one UUID, however it is written
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

// gauge judges a record. A rule that failed does not keep the report from its
// caller, which says so; the log tells those who keep the sheets why.
func (s *setupService) gauge(record *pb.SetupRecord, opt gauge.Options) (*pb.Report, error) {
	report, err := s.judge.Catalogue().Gauge(record, opt)
	if report != nil && err != nil {
		s.log.Warn("a rule of a sheet failed", "cause", err)
		return report, nil
	}
	return report, err
}

// system is the system of units that the sentences of a report use.
func system(u pb.UnitSystem) quantity.System {
	if u == pb.UnitSystem_UNIT_SYSTEM_US {
		return quantity.USCustomary
	}
	return quantity.Metric
}

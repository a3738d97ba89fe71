package server

import (
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

// setupOf shows a stored setup; basic leaves readings and instruments out. It
// shares messages with the setup and modifies none.
func setupOf(s store.Setup, basic bool) *pb.Setup {
	record := s.Record
	if basic && len(record.GetReadings())+len(record.GetInstruments()) > 0 {
		record = &pb.SetupRecord{
			Unit:       record.GetUnit(),
			Phase:      record.GetPhase(),
			Shop:       record.GetShop(),
			Technician: record.GetTechnician(),
			StartTime:  record.GetStartTime(),
			FinishTime: record.GetFinishTime(),
			Options:    record.GetOptions(),
			Conditions: record.GetConditions(),
			Supersedes: record.GetSupersedes(),
			Note:       record.GetNote(),
		}
	}
	setup := &pb.Setup{
		Name:       store.Name(s.ID),
		Record:     record,
		Report:     s.Report,
		CreateTime: timestamppb.New(s.CreateTime),
	}
	if s.SupersededBy != "" {
		setup.SupersededBy = store.Name(s.SupersededBy)
	}
	return setup
}

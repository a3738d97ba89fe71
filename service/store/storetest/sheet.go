package storetest

import (
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

// SpecID returns the id of the invented spec number n.
func SpecID(n int) string { return fmt.Sprintf("tarn-%d-2026-eu", n) }

// Sheet returns a sheet of the invented spec number n, the same for the same
// arguments, with so many characteristics. It passes every check of package
// spec; revisions are a day apart.
func Sheet(n, revision, characteristics int) *pb.SpecSheet {
	sheet := &pb.SpecSheet{
		SpecId:         SpecID(n),
		Revision:       int32(revision),
		EffectiveTime:  timestamppb.New(Base.AddDate(0, 0, revision)),
		ChangeNote:     fmt.Sprintf("Step %d of an invented machine.", revision),
		SourceDocument: "Invented sample data",
		Invented:       true,
		Make:           "Sample Works",
		Model:          fmt.Sprintf("Tarn %d", n),
		ModelYear:      2026,
		Market:         "EU",
		Vin:            &pb.VinCoverage{Patterns: []string{"0VS??????T???????"}},
	}
	for i := range characteristics {
		nominal := float64(10+i) + float64(revision)/8
		lower, upper := nominal-0.5, nominal+0.5
		sheet.Characteristics = append(sheet.Characteristics, &pb.Characteristic{
			Id:          fmt.Sprintf("gap_%02d", i),
			DisplayName: fmt.Sprintf("Gap %d", i),
			Group:       pb.Group_GROUP_CONTROLS,
			Limits:      &pb.Limits{Lower: &lower, Upper: &upper, Nominal: &nominal, Unit: "mm"},
			Kind:        &pb.Characteristic_Measured{Measured: &pb.Measured{}},
			Severity:    pb.Severity_SEVERITY_FUNCTION,
			RequiredIn:  []pb.Phase{pb.Phase_PHASE_PRE_DELIVERY},
			Method:      "With a feeler gauge, at the narrowest place.",
			Source:      fmt.Sprintf("Invented sample data, %d", i),
		})
	}
	return sheet
}

// Revision is the [Sheet] with three characteristics as it is to be published,
// some minutes before it begins.
func Revision(n, revision int) store.PublishedSpec {
	sheet := Sheet(n, revision, 3)
	return store.PublishedSpec{Sheet: sheet, RecordedTime: sheet.GetEffectiveTime().AsTime().Add(-time.Hour)}
}

package form

import (
	"strings"
	"testing"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// Whatever a sheet says, the form reads back as it was meant.
func TestTextOfAllKinds(t *testing.T) {
	for _, text := range []string{
		"Causeway 400", "yes", "Null", "1:50", "400", "2026-05-04", "a: b", "# not a comment", `say "so"`, "it's", "trailing ", "- item", "Größe ¼", "a\nb", "<&>", "*x", "100 %",
	} {
		form := Form{
			Sheet: &pb.SpecSheet{
				Make: text, Model: text, ModelYear: 2026, Market: "EU",
				Characteristics: []*pb.Characteristic{{
					Id: "a", DisplayName: text, Method: text, Caution: text, RequiredIn: []pb.Phase{pb.Phase_PHASE_SERVICE},
					Limits: &pb.Limits{Unit: text}, Kind: &pb.Characteristic_Measured{Measured: &pb.Measured{}},
				}},
			},
			Phase: pb.Phase_PHASE_SERVICE,
			Now:   time.Date(2026, 5, 4, 9, 0, 0, 0, time.FixedZone("", 7200)),
		}.YAML()
		record := new(pb.SetupRecord)
		if _, err := document.Decode([]byte(form), record, document.Options{}); err != nil {
			t.Errorf("%q: %v\n%s", text, err, form)
			continue
		}
		if got := record.GetUnit().GetModel(); got != text {
			t.Errorf("model %q, want %q", got, text)
		}
		if got := record.GetReadings()[0]; got.GetUnit() != text || got.GetResult() != nil {
			t.Errorf("%q: reading %v", text, got)
		}
		for _, line := range strings.Split(form, "\n") {
			if strings.HasPrefix(strings.TrimSpace(line), "#") && len([]rune(line)) > commentWidth {
				t.Errorf("comment of %d characters: %s", len([]rune(line)), line)
			}
		}
	}
}

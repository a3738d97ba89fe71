package columns

import (
	"encoding/csv"
	"strings"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

func templates(t testing.TB) []Template {
	var all []Template
	for _, readings := range []bool{false, true} {
		for _, optional := range []bool{false, true} {
			for _, phase := range []pb.Phase{0, pb.Phase_PHASE_HANDOVER} {
				for _, units := range []quantity.System{quantity.Metric, quantity.USCustomary} {
					all = append(all, Template{Sheet: sheet(t), Readings: readings, Optional: optional, Phase: phase, Units: units})
				}
			}
		}
	}
	return all
}

// A table with the header that a template gives is read by the map that it gives.
func TestTemplate(t *testing.T) {
	for _, template := range templates(t) {
		var text, header strings.Builder
		if err := template.Write(&text); err != nil {
			t.Fatal(err)
		}
		if err := template.WriteHeader(&header); err != nil {
			t.Fatal(err)
		}
		titles, err := csv.NewReader(strings.NewReader(header.String())).Read()
		if err != nil {
			t.Fatal(err)
		}
		m := parsed(t, text.String())
		if n := m.Matches(titles); n != len(titles) || n != len(m.names) {
			t.Errorf("got %d of %d columns", n, len(titles))
		}
		for line := range strings.Lines(text.String()) {
			if strings.HasPrefix(strings.TrimSpace(line), "# ") && len([]rune(line)) > commentWidth+1 {
				t.Errorf("a comment of %d characters: %s", len([]rune(line)), line)
			}
		}
		row := filled(t, template, titles)
		results := rows(t, m, strings.Join(titles, "|"), strings.Join(row, "|"))
		if len(results) != 1 || results[0].Record == nil {
			t.Fatalf("got %v", results)
		}
		want := 1
		if !template.Readings {
			want = len(template.characteristics())
			if template.Optional {
				want = 2 * (want + len(template.fitted()))
			}
		}
		if got := len(results[0].Record.GetReadings()); got != want {
			t.Errorf("got %d readings, want %d", got, want)
		}
	}
}

// filled writes something fitting in every column.
func filled(t *testing.T, template Template, titles []string) []string {
	kinds := make(map[string]string)
	for _, c := range append(template.characteristics(), template.fitted()...) {
		kinds[c.GetId()], _ = template.result(c)
	}
	row := make([]string, len(titles))
	for i, title := range titles {
		id, what, _ := strings.Cut(title, " ")
		switch {
		case strings.HasSuffix(title, "time"):
			row[i] = "2026-07-02T10:05:00Z"
		case strings.HasSuffix(title, "renewed"), strings.HasSuffix(title, "locked"):
			row[i] = "yes"
		case title == "phase":
			row[i] = "handover"
		case title == "conditions":
			row[i] = "on_wheels, engine_cold"
		case title == "characteristic":
			row[i] = "chain_slack"
		case title == "stage":
			row[i] = "as_left"
		case kinds[id] == "pass" && !strings.HasSuffix(what, "instrument"):
			row[i] = "not OK"
		case title == "vin", title == "shop", title == "technician", title == "options", kinds[id] == "text", kinds[id] == "choice":
			row[i] = "x"
		default:
			row[i] = "2"
		}
	}
	return row
}

// What an option brings or requires has a place in the map, once and with the
// option's name; without a column for the options it is a comment.
func TestTemplateHasWhatOptionsBring(t *testing.T) {
	limits := func(unit string) *pb.Limits { return &pb.Limits{Unit: unit} }
	handover := []pb.Phase{pb.Phase_PHASE_HANDOVER}
	added := &pb.Characteristic{Id: "lead", DisplayName: "Lead", RequiredIn: handover, Kind: &pb.Characteristic_Inspection{Inspection: &pb.Inspection{}},
		ReferenceConditions: []pb.Condition{pb.Condition_CONDITION_ON_WORK_STAND, pb.Condition_CONDITION_ENGINE_COLD}}
	template := Template{Phase: pb.Phase_PHASE_HANDOVER, Sheet: &pb.SpecSheet{
		Make: "Invented", Model: "One", ModelYear: 2026, Market: "EU",
		Characteristics: []*pb.Characteristic{
			{Id: "chain", DisplayName: "Chain", RequiredIn: handover, Limits: limits("mm"), Kind: &pb.Characteristic_Measured{}},
			{Id: "mix", DisplayName: "Mix", Limits: limits("mL"), Kind: &pb.Characteristic_Measured{}},
		},
		Options: []*pb.Option{
			{Id: "grips", Amendment: &pb.Amendment{Add: []*pb.Characteristic{added, {Id: "later", RequiredIn: []pb.Phase{pb.Phase_PHASE_SERVICE}}}}},
			{Id: "warm_grips", Amendment: &pb.Amendment{Add: []*pb.Characteristic{added}}},
			{Id: "kit", Amendment: &pb.Amendment{Override: []*pb.Characteristic{{Id: "mix", RequiredIn: handover}}}},
		},
	}}
	var b strings.Builder
	if err := template.Write(&b); err != nil {
		t.Fatal(err)
	}
	for line, want := range map[string]int{
		"  - characteristic: chain\n": 1, "  # Lead, with grips\n": 1, "  #- characteristic: lead\n": 2, "  #  stage: as_left\n": 2,
		"    #conditions: [on_work_stand, engine_cold]  # as specified": 1, "  # Mix, with kit\n": 1, "later": 0, "warm_grips": 0,
	} {
		if got := strings.Count(b.String(), line); got != want {
			t.Errorf("%q is there %d times, want %d times", line, got, want)
		}
	}
	template.Optional = true
	b.Reset()
	if err := template.WriteHeader(&b); err != nil || !strings.Contains(b.String(), ",lead as found,lead,") || !strings.Contains(b.String(), ",mix (mL)") {
		t.Errorf("got %s, %v", b.String(), err)
	}
	template.Readings = true
	b.Reset()
	if err := template.Write(&b); err != nil || !strings.Contains(b.String(), "[lead]\n") {
		t.Errorf("got %s, %v", b.String(), err)
	}
}

// Whatever a sheet says, the template reads back.
func TestTemplateWithTextOfAllKinds(t *testing.T) {
	for _, text := range []string{
		"Causeway 400", "yes", "1:50", "400", "a: b", "# not a comment", `say "so"`, "it's", "- item", "Größe ¼", "a\nb", "*x", "{column: x}",
	} {
		template := Template{Sheet: &pb.SpecSheet{
			Make: text, Model: text, ModelYear: 2026, Market: "EU",
			Characteristics: []*pb.Characteristic{{
				Id: "a", DisplayName: text, Limits: &pb.Limits{Unit: "mm"}, Kind: &pb.Characteristic_Choice{Choice: &pb.Choice{Accepted: []string{text}}},
			}},
		}, Optional: true}
		var b strings.Builder
		if err := template.Write(&b); err != nil {
			t.Fatal(err)
		}
		m := parsed(t, b.String())
		if got := m.record.field("unit").message.field("model").constant.String(); got != strings.TrimSpace(text) {
			t.Errorf("got %q, want %q", got, text)
		}
	}
}

package main

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

func TestSubmitIsIdempotent(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "submit", "testdata/accept.yaml")
	if !strings.HasSuffix(out, "stored as setups/abc\n") {
		t.Errorf("standard output:\n%s", out)
	}
	first := f.submit.GetRequestId()
	f.cli(t, "submit", "testdata/accept.yaml")
	if f.submit.GetRequestId() != first {
		t.Error("the same file got another request identifier")
	}
	f.cli(t, "submit", "testdata/reject.yaml")
	if f.submit.GetRequestId() == first {
		t.Error("another file got the same request identifier")
	}
	const given = "7c9e6679-7425-40de-944b-e07fc1f90ae7"
	f.cli(t, "submit", "testdata/accept.yaml", "--request-id", given)
	if f.submit.GetRequestId() != given {
		t.Errorf("request identifier %s, want %s", f.submit.GetRequestId(), given)
	}
}

// Identifiers of requests must not change from one version to the next: a
// repeated submission would store the record twice.
func TestRequestIDStaysTheSame(t *testing.T) {
	if got, want := requestID([]byte("a record\n")), "4cd67324-aede-5e23-89db-64c2b2db1a0a"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestLook(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "look", "causeway", "drain", "bolt", "--year", "2026", "--market", "us", "--option", "a", "--option", "b", "-n", "3")
	want := `Oil drain bolt
20 N·m (18 to 22)

  thread       M12x1.5
  size         hexagon 17 mm
  locking      medium-strength thread-locking fluid
  lubrication  clean and dry
  renew        new each time
  conditions   engine warm
  method       Let the oil run out for ten minutes.
  caution      Hot oil burns: gloves.
  required     pre-delivery
  failing is   DAMAGE
  id           oil_drain_bolt
  source       Invented demo data
  sheet        Ulverdale Causeway 400 2026 US, sheet revision 2

or did you mean
  Idle screw: 50 % open  1½ to 2½ turns
  Throttle snaps shut    Snaps shut from wide open.
  Chain links            110
  Fork oil level         at most 130 mm
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
	request := f.lookUp
	if request.GetWords() != "drain bolt" || request.GetModelYear() != 2026 || request.GetMarket() != "US" ||
		len(request.GetOptions()) != 2 || request.GetMaxResults() != 3 {
		t.Errorf("asked %v", request)
	}
	if _, out, _ = f.cli(t, "look", "causeway", "drain bolt", "--units", "us"); !strings.Contains(out, "14.75 lbf·ft (13.28 to 16.23)") {
		t.Errorf("--units us:\n%s", out)
	}
}

func TestList(t *testing.T) {
	f := newFake(t)
	f.stored = 450
	for _, test := range []struct {
		args  []string
		lines int
		pages []int32
		more  bool
	}{
		{nil, 50, []int32{50}, true},
		{[]string{"--limit", "0"}, 450, []int32{200, 200, 200}, false},
		{[]string{"--limit", "250"}, 250, []int32{200, 50}, true},
		{[]string{"--limit", "450"}, 450, []int32{200, 200, 50}, false},
	} {
		f.pages = nil
		_, out, _ := f.cli(t, append([]string{"list"}, test.args...)...)
		if got := strings.Count(out, "ACCEPT"); got != test.lines {
			t.Errorf("%v: %d lines, want %d", test.args, got, test.lines)
		}
		if diff := cmp.Diff(test.pages, f.pages); diff != "" {
			t.Errorf("%v: pages (-want +got):\n%s", test.args, diff)
		}
		if strings.Contains(out, "there are more") != test.more {
			t.Errorf("%v: says wrongly whether there are more", test.args)
		}
	}
	_, out, _ := f.cli(t, "list", "--limit", "250", "-o", "json")
	answer := new(pb.ListSetupsResponse)
	if err := protojson.Unmarshal([]byte(out), answer); err != nil || len(answer.GetSetups()) != 250 || answer.GetNextPageToken() == "" {
		t.Errorf("JSON: %d set-ups, next page %q, %v", len(answer.GetSetups()), answer.GetNextPageToken(), err)
	}
}

func TestSpecs(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "specs")
	want := `SPEC                            MAKE       MODEL         YEAR  REV  SINCE
ulverdale-causeway-400-2026-us  Ulverdale  Causeway 400  2026    2  2026-05-04
varnholt-scree-200i-2026-eu     Ulverdale  Scree 200i    2026    2  2026-05-04
`
	if diff := cmp.Diff(want, out); diff != "" {
		t.Errorf("standard output (-want +got):\n%s", diff)
	}
	_, out, _ = f.cli(t, "specs", "show", "ulverdale-causeway-400-2026-us")
	for _, want := range []string{"FASTENERS\nDAMAGE    Oil drain bolt", "20 N·m (18 to 22)\n", "\nSAFETY CHECKS\n"} {
		if !strings.Contains(out, want) {
			t.Errorf("sheet lacks %q:\n%s", want, out)
		}
	}
}

func TestLookAsksForAUnit(t *testing.T) {
	f := newFake(t)
	f.cli(t, "look", "causeway", "drain", "bolt", "--vin", "0ULCW4DS7T0000123")
	if got := f.lookUp.GetVin(); got != "0ULCW4DS7T0000123" {
		t.Errorf("asked for the unit %q", got)
	}
}

func TestSpecsShowAsks(t *testing.T) {
	f := newFake(t)
	f.cli(t, "specs", "show", "ulverdale-causeway-400-2026-us", "--as-of", "2026-05-01", "--known", "2026-04-01", "--vin", "0ULCW4DS7T0000123", "--option", "big_tank")
	want := &pb.GetSpecRequest{
		Name: specName, AsOfTime: onDay(time.May, 1), KnownTime: onDay(time.April, 1), Vin: "0ULCW4DS7T0000123", Options: []string{"big_tank"},
	}
	if !proto.Equal(f.getSpec, want) {
		t.Errorf("asked %v, want %v", f.getSpec, want)
	}
	for _, args := range [][]string{{"ulverdale-causeway-400-2026-us@2"}, {"ulverdale-causeway-400-2026-us", "--revision", "2"}, {revisionName}} {
		f.cli(t, append([]string{"specs", "show"}, args...)...)
		if got := f.getSpec.GetName(); got != revisionName {
			t.Errorf("%v: asked for %s", args, got)
		}
	}
}

func TestShow(t *testing.T) {
	f := newFake(t)
	_, out, _ := f.cli(t, "show", "setups/abc")
	for _, want := range []string{"REJECT    Causeway 400\n", "stored at      2026-05-04 09:00Z\n", "chain_slack  45 mm  as left\n"} {
		if !strings.Contains(out, want) {
			t.Errorf("lacks %q:\n%s", want, out)
		}
	}
}

func TestRecordNewDecodes(t *testing.T) {
	f := newFake(t)
	for _, units := range []string{"metric", "us"} {
		_, out, _ := f.cli(t, "record", "new", "causeway", "--units", units, "--option", "big_tank")
		bare := new(pb.SetupRecord)
		if _, err := document.Decode([]byte(out), bare, document.Options{Name: "form"}); err != nil {
			t.Fatalf("%s: does not decode as it stands: %v\n%s", units, err, out)
		}
		filled := strings.NewReplacer("  vin:", "  vin: 0ULCW4DS7T0000123", "shop:", "shop: ridge-cycles", "technician:", "technician: mw").Replace(out)
		record := new(pb.SetupRecord)
		if _, err := document.Decode([]byte(filled), record, document.Options{Name: "form"}); err != nil {
			t.Fatalf("%s: does not decode filled in: %v\n%s", units, err, filled)
		}
		var ids []string
		for _, r := range record.GetReadings() {
			ids = append(ids, r.GetCharacteristic())
			if r.GetResult() != nil {
				t.Errorf("%s has a result", r.GetCharacteristic())
			}
		}
		if diff := cmp.Diff([]string{"oil_drain_bolt", "idle_screw", "throttle_snap", "links"}, ids); diff != "" {
			t.Errorf("readings (-want +got):\n%s", diff)
		}
		if u := record.GetUnit(); u.GetModel() != "Causeway 400" || u.GetModelYear() != 2026 || u.GetMarket() != "US" || u.GetVin() == "" {
			t.Errorf("unit %v", u)
		}
		if !record.GetFinishTime().AsTime().Equal(testTime) || record.GetPhase() != pb.Phase_PHASE_PRE_DELIVERY || record.GetOptions()[0] != "big_tank" {
			t.Errorf("head %v", record)
		}
		for _, want := range []string{"  # Oil drain bolt: ", "  # method: Let the oil", "  # caution: Hot oil burns: gloves.", "# specified with engine_warm", "# Idle screw: 50 % open: 1½ to 2½ turns"} {
			if !strings.Contains(out, want) {
				t.Errorf("lacks %q:\n%s", want, out)
			}
		}
		wantUnit := map[string]string{"metric": "N·m", "us": "lbf·ft"}[units]
		if got := record.GetReadings()[0].GetUnit(); got != wantUnit {
			t.Errorf("unit %q, want %q", got, wantUnit)
		}
	}
	_, out, _ := f.cli(t, "record", "new", "causeway", "--vin", "0ULCW4DS7T0000123")
	record := new(pb.SetupRecord)
	if _, err := document.Decode([]byte(out), record, document.Options{Name: "form"}); err != nil || record.GetUnit().GetVin() != "0ULCW4DS7T0000123" {
		t.Errorf("--vin: %v, unit %v", err, record.GetUnit())
	}
	if f.lookUp.GetVin() != "0ULCW4DS7T0000123" || f.getSpec.GetVin() != "0ULCW4DS7T0000123" {
		t.Errorf("--vin: asked %v, then %v", f.lookUp, f.getSpec)
	}
	if want := "    fitted:\n      renewed:  # true when new\n      locked:  # true when locked: medium-strength thread-locking fluid\n"; strings.Count(out, want) != 1 {
		t.Errorf("lacks once %q:\n%s", want, out)
	}
	if _, out, _ := f.cli(t, "record", "new", "causeway", "--phase", "handover"); !strings.Contains(out, "readings: []") {
		t.Errorf("a phase that requires nothing:\n%s", out)
	}
}

func TestCompletion(t *testing.T) {
	f := newFake(t)
	for _, test := range []struct {
		args string
		want []string
	}{
		{"__complete look |", []string{"Causeway 400\tUlverdale", "Scree 200i\tUlverdale"}},
		{"__complete record new c|", []string{"Causeway 400\tUlverdale", "Scree 200i\tUlverdale"}},
		{"__complete specs show |", []string{"ulverdale-causeway-400-2026-us\tUlverdale Causeway 400 2026 US"}},
		{"__complete specs show ulverdale-causeway-400-2026-us@|", []string{"ulverdale-causeway-400-2026-us@2\tChain slack corrected.", "ulverdale-causeway-400-2026-us@1\tFirst issue."}},
		{"__complete specs history |", []string{"ulverdale-causeway-400-2026-us\tUlverdale Causeway 400 2026 US"}},
		{"__complete specs diff ulverdale-causeway-400-2026-us@1 |", []string{"varnholt-scree-200i-2026-eu\tUlverdale Scree 200i 2026 US"}},
		{"__complete specs withdraw |", []string{"ulverdale-causeway-400-2026-us@\tUlverdale Causeway 400 2026 US", ":6"}},
		{"__complete affected ulverdale-causeway-400-2026-us@|", []string{"ulverdale-causeway-400-2026-us@2\tChain slack corrected.", ":4"}},
		{"__complete specs options |", []string{"ulverdale-causeway-400-2026-us\tUlverdale Causeway 400 2026 US"}},
		{"__complete specs options ulverdale-causeway-400-2026-us |", []string{"big_tank\tBig tank", "small_tank\tSmall tank"}},
		{"__complete specs publish |", []string{"yaml", "yml", "json"}},
		{"__complete specs lint a.yaml |", []string{"yaml", "yml", "json"}},
		{"__complete specs test a.yaml |", []string{"yaml", "yml", "json"}},
		{"__complete specs d|", []string{"diff\tCompare two sheets: what is tightened, loosened, new, gone"}},
		{"__complete record new x --phase |", []string{"pre_delivery", "handover", "first_service", "service"}},
		{"__complete plan |", []string{"Causeway 400\tUlverdale", "Scree 200i\tUlverdale"}},
		{"__complete plan x --phase |", []string{"pre_delivery", "handover", "first_service", "service"}},
		{"__complete plan x --use |", []string{"trail", "enduro", "road"}},
		{"__complete calc |", []string{"brake-fluids-mix\tWhether brake fluids of two grades may meet.", "wrench-setting\tWhat to set on a torque wrench with an extension."}},
		{"__complete calc wrench-setting |", []string{"torque=\tTorque wanted", "wrench_length=\tFrom grip to square drive", ":6"}},
		{"__complete calc brake-fluids-mix grade=|", []string{"grade=DOT 3", "grade=DOT 4"}},
		{"__complete sheet |", []string{"handover\tThe sheet that the customer keeps", "job\tThe sheet that is filled in at the bench"}},
		{"__complete sheet job |", []string{"Causeway 400\tUlverdale"}},
		{"__complete sheet job --paper |", []string{"a4", "letter"}},
		{"__complete sheet job --record |", []string{"yaml", "yml", "json"}},
		{"__complete sheet handover |", []string{"yaml", "yml", "json"}},
		{"__complete check --units |", []string{"metric", "us"}},
		{"__complete check |", []string{"yaml", "yml", "json"}},
	} {
		args := strings.Split(strings.TrimSuffix(test.args, "|"), " ")
		code, out, _ := f.cli(t, args...)
		if code != 0 {
			t.Errorf("%s: exit code %d", test.args, code)
		}
		for _, want := range test.want {
			if !strings.Contains(out, want+"\n") {
				t.Errorf("%s: lacks %q: %q", test.args, want, out)
			}
		}
	}
	if _, out, _ := f.cli(t, "__complete", "specs", "options", "ulverdale-causeway-400-2026-us", "big_tank", ""); strings.Contains(out, "big_tank") {
		t.Errorf("offers an option again: %q", out)
	}
	// Given already.
	if _, out, _ := f.cli(t, "__complete", "calc", "wrench-setting", "torque=20 N.m", ""); strings.Contains(out, "torque=") {
		t.Errorf("offers an input again: %q", out)
	}
	for _, command := range []string{"look", "calc"} {
		code, out, _ := run(t, world{}, "__complete", "--server", "127.0.0.1:1", command, "")
		if code != 0 || strings.TrimSpace(out) != ":4" {
			t.Errorf("%s: server not there: exit code %d, standard output %q", command, code, out)
		}
	}
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		if code, out, _ := run(t, world{}, "completion", shell); code != 0 || !strings.Contains(out, "snapgauge") {
			t.Errorf("%s: exit code %d", shell, code)
		}
	}
}

func TestVersionAndJSONOfEveryCommand(t *testing.T) {
	f := newFake(t)
	f.stored = 1
	const spec = "ulverdale-causeway-400-2026-us"
	for _, args := range []string{"specs", "specs revisions " + spec, "specs history " + spec, "specs show " + spec, "specs diff " + spec,
		"specs options " + spec + " big_tank", "specs publish testdata/sheets/good.yaml", "specs lint testdata/sheets/good.yaml",
		"specs test testdata/sheets/good.yaml testdata/accept.yaml", "specs withdraw " + spec + "@2 --reason misprint", "affected " + spec + "@1", "show abc", "list", "look a b", "submit testdata/accept.yaml", "record new a",
		"plan a", "calc", "calc wrench-setting", "calc wrench-setting torque=20", "sheet job a", "sheet handover testdata/accept.yaml"} {
		code, out, errs := f.cli(t, append(strings.Fields(args), "-o", "json")...)
		if code != 0 || !json.Valid([]byte(out)) {
			t.Errorf("%s: exit code %d, standard error %q, standard output %q", args, code, errs, out)
		}
	}
	if _, out, _ := f.cli(t, "version"); !strings.HasPrefix(out, "snapgauge ") {
		t.Errorf("version: %q", out)
	}
}

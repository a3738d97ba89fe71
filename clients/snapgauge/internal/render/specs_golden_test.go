package render

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// specTexts are the texts about sheets, by the name of their golden files.
func specTexts(t *testing.T) map[string]func(Options) string {
	t.Helper()
	history, diff, options := new(pb.ListSpecRevisionsResponse), new(pb.SpecDiff), new(pb.CheckOptionsResponse)
	affected, look, setups := new(pb.ListAffectedSetupsResponse), new(pb.LookUpCharacteristicsResponse), new(pb.ListSetupsResponse)
	read(t, "history", history)
	read(t, "diff", diff)
	read(t, "options", options)
	read(t, "affected", affected)
	read(t, "look", look)
	read(t, "setups", setups)
	setUps := func(full bool) func(Options) string {
		return func(o Options) string {
			var texts []string
			for _, s := range affected.GetAffected() {
				texts = append(texts, Affected(s, full, o))
			}
			texts = append(texts, AffectedTotal("varnholt-scree-200i-2026-eu@2", affected.GetAffected(), int(affected.GetJudgedCount()), o))
			return strings.Join(texts, "\n")
		}
	}
	return map[string]func(Options) string{
		"history": func(o Options) string {
			return History(history.GetSpecRevisions(), history.GetSpecRevisions()[2], o)
		},
		"diff":      func(o Options) string { return Diff(diff, false, o) },
		"diff-full": func(o Options) string { return Diff(diff, true, o) },
		"options": func(o Options) string {
			return OptionCheck("varnholt-scree-200i-2026-eu", []string{"battery_delete", "rally_tank", "skid_plate", "open_exhaust"}, options, o)
		},
		"affected":      setUps(false),
		"affected-full": setUps(true),
		"look":          func(o Options) string { return Answer(look, o) },
		"setups":        func(o Options) string { return Setups(setups.GetSetups(), o) },
		"examples": func(o Options) string {
			return Examples([]Example{
				{Name: "records/accepted-scree-2026.yaml"},
				{Name: "records/oil-tank-overfilled.yaml", Faults: []string{
					"records/oil-tank-overfilled.yaml:31:1: verdict ACCEPT, expected REJECT; expected FILL_ABOVE_SAFE_LEVEL, not found"}},
			}, o)
		},
	}
}

func TestSpecsGolden(t *testing.T) {
	for name, write := range specTexts(t) {
		for _, look := range looks {
			t.Run(name+"/"+look.name, func(t *testing.T) {
				got := write(look.options)
				golden(t, name+"-"+look.name, got)
				fits(t, got, look.options.Width)
			})
		}
	}
}

func TestColourOnlyRepeatsInSpecs(t *testing.T) {
	for name, write := range specTexts(t) {
		plain, coloured := write(Options{Width: 80}), write(Options{Width: 80, Ink: true})
		if strings.Contains(plain, "\x1b") {
			t.Errorf("%s: escape sequence in plain text", name)
		}
		if plain == coloured {
			t.Errorf("%s: no colour in coloured text", name)
		}
		if got := decolour(coloured); got != plain {
			t.Errorf("%s: differs without its colour:\n%s", name, cmp.Diff(plain, got))
		}
	}
}

// Before the first revision is in force, none is.
func TestHistoryBeforeTheFirst(t *testing.T) {
	got := History([]*pb.SpecRevision{{Name: "specs/a/revisions/1", Revision: 1}}, nil, Options{Width: 80})
	if !strings.HasPrefix(got, "revision 1  not yet in force\n") {
		t.Errorf("got %q", got)
	}
}

func TestDiffOfTheSame(t *testing.T) {
	got := Diff(&pb.SpecDiff{Base: "specs/a/revisions/1", Target: "specs/b/revisions/1"}, false, Options{Width: 80})
	if want := "a revision 1 → b revision 1\nno difference\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	got = Diff(&pb.SpecDiff{
		Base: "specs/a/revisions/1", Target: "specs/a/revisions/2", Head: []*pb.FieldChange{{Field: "effective_time", Label: "in force from", Before: "x", After: "y"}},
	}, false, Options{Width: 80})
	if want := "a: revision 1 → 2\nonly the head of the sheet differs\n\nSHEET\n  in force from  x → y\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestUnits(t *testing.T) {
	for want, c := range map[string]*pb.VinCoverage{
		"serial 000240 to 000655":  {SerialFrom: "000240", SerialTo: "000655", Patterns: []string{"x"}},
		"serial 000240":            {SerialFrom: "000240", SerialTo: "000240"},
		"from serial 000240 on":    {SerialFrom: "000240"},
		"up to serial 000655":      {SerialTo: "000655"},
		"VIN 0VST2E??? or 0VST3E?": {Patterns: []string{"0VST2E???", "0VST3E?"}},
		"":                         nil,
	} {
		if got := units(c); got != want {
			t.Errorf("%v: got %q, want %q", c, got, want)
		}
	}
}

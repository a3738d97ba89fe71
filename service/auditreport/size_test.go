package auditreport

import (
	"io"
	"slices"
	"strings"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/internal/pagetest"
)

// usual is a large audit, and most what an audit keeps apart at most.
var (
	usual = size{specs: 7, each: 120, months: 24, shops: 40, technicians: 120, observations: 40}
	most  = size{specs: 64, each: 128, months: 12, shops: 512, technicians: 4096, observations: 600}
)

// A report can be mailed.
func TestSize(t *testing.T) {
	for _, c := range []struct {
		name string
		size
		most int
	}{{"usual", usual, 2_500_000}, {"most", most, 6_000_000}} {
		t.Run(c.name, func(t *testing.T) {
			s := large(c.size)
			html := mustHTML(t, s)
			t.Logf("%d bytes", len(html))
			if len(html) > c.most {
				t.Errorf("%d bytes, more than %d", len(html), c.most)
			}
			checkSound(t, html)
			pagetest.Keep(t, c.name+".html", html)
		})
	}
}

// What is not in the report is told, and where it is.
func TestLeftOutIsTold(t *testing.T) {
	html := strings.ReplaceAll(string(mustHTML(t, large(most))), space, " ")
	for _, want := range []string{
		"Of 512 shops, 240 are listed: the 120 whose interval ends lowest, and of the others those with most records. The other 272 are in the audit’s JSON summary.",
		"Of 4,096 technicians, 240 are listed:",
		"And 500 weaker ones, which the audit’s JSON summary has.",
		"60 of 8,192 characteristics are drawn in full",
		"20 of ", " with anything nonconforming, those with the largest share",
		" with a Cpk below 1.33, those with the smallest",
		"The audit’s JSON summary has everything of all of them.",
		"The rows are those of the worst 3,000. The audit’s JSON summary has 5,132 more characteristics.",
		"More of the map: the worst 60 of 128 characteristics, the worst 40 of 512 shops",
		"What is not here, of 128 characteristics and 512 shops, is in the audit’s JSON summary.",
	} {
		if !strings.Contains(html, want) {
			t.Errorf("the report lacks %q", want)
		}
	}
	if html := string(mustHTML(t, rich())); strings.Contains(html, "JSON summary") {
		t.Error("a report that has everything says that it has not")
	}
}

// Every characteristic is either drawn or has a row, unless there are too many.
func TestEachOnce(t *testing.T) {
	s := many()
	c := reportOf(s).Characteristics
	seen := map[string]int{}
	for _, one := range append(slices.Clone(c.Shown), c.Rest...) {
		seen[one.Spec+" "+one.Name]++
	}
	for _, spec := range c.Rows {
		for _, rows := range []*table{spec.Measured, spec.Checked} {
			for _, row := range rows.Rows {
				seen[spec.Spec+" "+row[0].Text]++
			}
		}
	}
	for _, c := range s.Characteristics {
		if n := seen[c.SpecId+" "+c.DisplayName]; n != 1 {
			t.Errorf("%s of %s is there %d times", c.DisplayName, c.SpecId, n)
		}
	}
}

// Those worth opening are drawn, each with the reasons, and one long list does
// not push the others out.
func TestChoice(t *testing.T) {
	s := &pb.AuditSummary{}
	add := func(id string, wrong int32, cpk, p float64, observed bool) {
		c := withCpk(cpk)
		c.SpecId, c.Characteristic, c.Tally = "a", id, &pb.Tally{Conforming: 1000 - wrong, Nonconforming: wrong}
		c.RevisionsPValue = &p
		s.Characteristics = append(s.Characteristics, c)
		if observed {
			s.Observations = append(s.Observations, &pb.AuditObservation{SpecId: "a", Characteristic: id})
		}
	}
	letters := func(i int) string { return string([]rune{rune('a' + i/26), rune('a' + i%26)}) }
	for i := range 200 {
		add("plain_"+letters(i), 0, 2, 0.9, false)
	}
	for i := range 70 {
		add("observed_"+letters(i), 0, 2, 0.9, true)
	}
	for i := range 30 {
		add("wrong_"+letters(i), int32(40-i), 2, 0.9, false)
		add("spread_"+letters(i), 0, 0.5+float64(i)/100, 0.9, false)
	}
	add("revised", 0, 2, 1e-9, false)
	add("everything", 500, 0.1, 1e-8, true)
	// The name alone is not enough where the observation names a spec.
	other := withCpk(2)
	other.SpecId, other.Characteristic = "b", "observed_aa"
	s.Characteristics = append(s.Characteristics, other)

	drawn := map[string]string{}
	count := map[string]int{}
	choice := (&builder{s: s}).choose()
	for _, c := range choice.drawn {
		drawn[c.SpecId+"/"+c.Characteristic] = strings.Join(c.because, ", ")
		kind, _, _ := strings.Cut(c.Characteristic, "_")
		count[kind]++
	}
	for name, want := range map[string]string{
		"a/everything": "worth a look, revisions, share, Cpk", "a/revised": "revisions", "a/wrong_aa": "share", "a/spread_aa": "Cpk", "a/observed_aa": "worth a look",
	} {
		if drawn[name] != want {
			t.Errorf("%s is drawn because of %q, wanted %q", name, drawn[name], want)
		}
	}
	if len(choice.drawn) != mostDrawn || count["plain"] > 0 || count["wrong"] != 19 || count["spread"] != 19 || count["observed"] != 20 || drawn["b/observed_aa"] != "" {
		t.Errorf("%d are drawn: %v", len(choice.drawn), count)
	}
	if choice.drawn[0].Characteristic != "everything" {
		t.Errorf("the worst is %s", choice.drawn[0].Characteristic)
	}
}

// Of many groups the low ones and the large ones are listed, in their order.
func TestKeptGroups(t *testing.T) {
	var all []*pb.AuditYield
	for i := range 1000 {
		hits := int64(90)
		if i >= 900 {
			hits = 10
		}
		all = append(all, &pb.AuditYield{RecordCount: int64(1000 - i), Yield: wilson(hits, 100)})
	}
	kept := keptGroups(all)
	if len(kept) != mostGroups || !slices.IsSortedFunc(kept, func(x, y *pb.AuditYield) int { return int(y.RecordCount - x.RecordCount) }) {
		t.Fatalf("%d groups, or not in order", len(kept))
	}
	for i, g := range all {
		if low := i >= 900; (low || i < 100) && !slices.Contains(kept, g) {
			t.Errorf("group %d is not listed", i)
		}
	}
}

func BenchmarkHTML(b *testing.B) {
	for _, c := range []struct {
		name string
		size
	}{{"usual", usual}, {"most", most}} {
		b.Run(c.name, func(b *testing.B) {
			s := large(c.size)
			b.ReportAllocs()
			for b.Loop() {
				if err := HTML(io.Discard, s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

package population_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/audit"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/statistic"
	"github.com/snapgauge/snapgauge/specs/population"
)

var (
	updateTable = flag.Bool("update", false, "write the table of how well audits find what was planted")
	auditSeeds  = flag.Int("audit.seeds", 3, "populations of each kind that are audited")
)

const (
	auditRecords = 5000
	auditTable   = "testdata/audit.md"
)

// audited is a population with what an audit made of it.
type audited struct {
	members []population.Member
	truth   []population.Truth
	results []*pb.AuditResult
	tests   []*pb.AuditObservation
}

func auditOf(t *testing.T, j *judge, c population.Config) audited {
	t.Helper()
	p := made(t, c)
	a := audit.New(&pb.AuditOptions{}, gauge.Version)
	got := audited{members: p.Members()}
	for record, truth := range p.Records() {
		engine := j.engines[j.revision(t, record).Name()]
		entry, err := audit.Judge(engine, record, gauge.Options{AsOf: record.GetFinishTime().AsTime()})
		if err != nil {
			t.Fatal(err)
		}
		got.results = append(got.results, a.Add(entry))
		got.truth = append(got.truth, truth)
	}
	got.tests = a.Results()
	return got
}

// who is a member by name, or a shop alone.
type who struct{ shop, technician string }

// planted says for whom a sign ought to show in a population, and for whom it
// ought not. Who is neither is left out.
func (g *audited) planted(sign pb.AuditSign) (positive, negative map[who]bool) {
	positive, negative = map[who]bool{}, map[who]bool{}
	shared, drifting := map[who]bool{}, map[string]bool{}
	for _, truth := range g.truth {
		if truth.SharedSerial != "" {
			shared[who{truth.Shop, truth.Technician}] = true
		}
		if truth.DriftingSerial != "" {
			drifting[truth.Shop] = true
		}
	}
	for _, m := range g.members {
		is := who{m.Shop, m.Technician}
		var yes bool
		switch sign {
		case pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS:
			yes = m.Habit == population.HabitCopied
		case pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE:
			yes = shared[is]
		case pb.AuditSign_AUDIT_SIGN_DRIFT:
			is.technician = ""
			yes = drifting[m.Shop]
		case pb.AuditSign_AUDIT_SIGN_TIMES_OUT_OF_ORDER:
			yes = m.Habit == population.HabitCareless || m.Habit == population.HabitInvented
		case pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE:
			yes = false // everybody's records alike
		default:
			yes = m.Habit == population.HabitInvented
		}
		if yes {
			positive[is] = true
		} else {
			negative[is] = true
		}
	}
	return positive, negative
}

// strongest is the strongest result of a sign for each that was tested.
func (g *audited) strongest(sign pb.AuditSign) map[who]*pb.AuditObservation {
	best := map[who]*pb.AuditObservation{}
	for _, o := range g.tests {
		if o.GetSign() != sign {
			continue
		}
		is := who{o.GetShop(), o.GetTechnician()}
		if b := best[is]; b == nil || audit.Told(o) && !audit.Told(b) || audit.Told(o) == audit.Told(b) && o.GetPValue() < b.GetPValue() {
			best[is] = o
		}
	}
	return best
}

// score orders results by how strongly they show something.
func score(o *pb.AuditObservation) float64 {
	if o.GetEffect().GetValue() == 0 {
		return 0
	}
	return -math.Log10(max(o.GetPValue(), 1e-300))
}

// thresholds are the q-values of the table; the middle one is the audit's own.
var thresholds = []float64{0.1, 0.01, 1e-4, 1e-8}

// The audit finds what was planted, and seldom tells of the honest. The table says
// how well, sign by sign.
func TestAuditFindsPlanted(t *testing.T) {
	j := judgeOf(t)
	var mixed, honest []audited
	for seed := range *auditSeeds {
		mixed = append(mixed, auditOf(t, j, population.Mixed(uint64(seed+1), auditRecords)))
		honest = append(honest, auditOf(t, j, population.Honest(uint64(seed+1), auditRecords)))
	}
	var table bytes.Buffer
	fmt.Fprintf(&table, `# How well audits find what was planted

Written by `+"`go test ./specs/population -run AuditFinds -update`"+`. %d invented populations of each kind,
%d records each: mixed ones with copying, inventing, careless and drifting members, and honest
ones, whose shops and technicians differ much in their instruments and habits.

## People and shops

For each sign: who shows it by plan and who does not, in the mixed populations; the area under the
ROC curve of the test's p-value; and the ROC itself as true and false positive rates at four
q-values, each together with the effect that the audit asks for. It tells at 0.01. Last, false
alarms in the honest populations.

| sign | planted | others | AUC |`, *auditSeeds, auditRecords)
	for _, q := range thresholds {
		fmt.Fprintf(&table, " q ≤ %g |", q)
	}
	fmt.Fprint(&table, " honest: told of tested |\n|---|---|---|---|---|---|---|---|---|\n")
	for number := 1; number <= len(pb.AuditSign_name)+4; number++ {
		sign := pb.AuditSign(number)
		if _, is := pb.AuditSign_name[int32(number)]; !is {
			continue
		}
		row := signRow(sign, mixed, honest)
		fmt.Fprintln(&table, row.String())
		row.check(t)
	}
	recordRows(t, &table, mixed)
	if *updateTable {
		if err := os.WriteFile(auditTable, table.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Log("\n" + table.String())
	if *auditSeeds != 3 {
		return
	}
	want, err := os.ReadFile(auditTable)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, table.Bytes()) {
		t.Errorf("the table is not the one in %s: run with -update and look at the difference", auditTable)
	}
}

// tableRow is how well one sign does.
type tableRow struct {
	sign                    pb.AuditSign
	planted, others         int
	auc                     float64
	trueRates, falseRates   []float64
	honestTold, honestAsked int
}

func signRow(sign pb.AuditSign, mixed, honest []audited) tableRow {
	row := tableRow{sign: sign, auc: math.NaN()}
	var positives, negatives []float64
	told := make([][2]int, len(thresholds))
	for i := range mixed {
		positive, negative := mixed[i].planted(sign)
		for is, o := range mixed[i].strongest(sign) {
			at := -1
			switch {
			case positive[is]:
				at, positives = 0, append(positives, score(o))
			case negative[is]:
				at, negatives = 1, append(negatives, score(o))
			default:
				continue
			}
			for k, q := range thresholds {
				if o.GetQValue() <= q && audit.Told(withQ(o, 0)) {
					told[k][at]++
				}
			}
		}
	}
	row.planted, row.others = len(positives), len(negatives)
	if row.planted > 0 && row.others > 0 {
		row.auc = statistic.AUC(positives, negatives)
	}
	for k := range thresholds {
		row.trueRates = append(row.trueRates, rate(told[k][0], row.planted))
		row.falseRates = append(row.falseRates, rate(told[k][1], row.others))
	}
	for i := range honest {
		for _, o := range honest[i].strongest(sign) {
			row.honestAsked++
			if audit.Told(o) {
				row.honestTold++
			}
		}
	}
	return row
}

// withQ is an observation with another q-value.
func withQ(o *pb.AuditObservation, q float64) *pb.AuditObservation {
	return &pb.AuditObservation{
		Sign: o.GetSign(), HitCount: o.GetHitCount(), Effect: o.GetEffect(),
		Share: o.GetShare(), ShareElsewhere: o.GetShareElsewhere(), QValue: q,
	}
}

func rate(k, n int) float64 {
	if n == 0 {
		return math.NaN()
	}
	return float64(k) / float64(n)
}

func (r tableRow) String() string {
	s := fmt.Sprintf("| %s | %d | %d | %s |", signName(r.sign), r.planted, r.others, plain("%.3f", r.auc))
	for k := range thresholds {
		s += fmt.Sprintf(" %s / %s |", plain("%.2f", r.trueRates[k]), plain("%.3f", r.falseRates[k]))
	}
	return s + fmt.Sprintf(" %d of %d |", r.honestTold, r.honestAsked)
}

func plain(format string, v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	return fmt.Sprintf(format, v)
}

func signName(sign pb.AuditSign) string { return sign.String()[len("AUDIT_SIGN_"):] }

// check holds a sign to what it is good for: few honest people are told of, and
// what is planted in plenty is found.
func (r tableRow) check(t *testing.T) {
	t.Helper()
	if limit := max(1, r.honestAsked/100); r.honestTold > limit {
		t.Errorf("%v: %d of %d honest ones are told of, wanted at most %d", r.sign, r.honestTold, r.honestAsked, limit)
	}
	wanted := map[pb.AuditSign]float64{ // share of what is planted that is told of
		pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS:      0.9,
		pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME: 0.9,
		pb.AuditSign_AUDIT_SIGN_PILED_AT_LIMIT:         0.7,
		pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE:   0.25,
		pb.AuditSign_AUDIT_SIGN_DRIFT:                  0.5,
	}
	if least := wanted[r.sign]; r.trueRates[1] < least {
		t.Errorf("%v: %.2f of what is planted is told of, wanted %.2f", r.sign, r.trueRates[1], least)
	}
}

// recordRows adds how many single records are remarked on that were planted, and
// how many others.
func recordRows(t *testing.T, table *bytes.Buffer, all []audited) {
	fmt.Fprint(table, `
## Single records

Records of the mixed populations with a remark, of those to which the truth says it belongs and of
the others.

| remark | planted in | found | other records | remarked on |
|---|---|---|---|---|
`)
	slip := func(s population.Slip) func(*population.Truth) bool {
		return func(truth *population.Truth) bool {
			for _, is := range truth.Slips {
				if is == s {
					return true
				}
			}
			return false
		}
	}
	for _, row := range []struct {
		sign    pb.AuditSign
		name    string
		planted func(*population.Truth) bool
		skip    func(*population.Truth) bool
		least   float64
	}{
		{pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS, "copied whole", func(truth *population.Truth) bool { return truth.CopyOf != nil && truth.Changed == 0 },
			func(truth *population.Truth) bool { return truth.CopyOf != nil && truth.Changed > 0 }, 0.7},
		{pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS, "copied in part", func(truth *population.Truth) bool { return truth.CopyOf != nil && truth.Changed > 0 },
			func(truth *population.Truth) bool { return truth.CopyOf != nil && truth.Changed == 0 }, 0.2},
		{pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME, "too fast", slip(population.SlipTooFast), nil, 0.99},
		{pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT, "too fine", slip(population.SlipTooFine), nil, 0.9},
		{pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE, "the same VIN", func(truth *population.Truth) bool { return truth.SameVINAs != nil }, nil, 0.9},
	} {
		var found, planted, remarked, others int
		for i := range all {
			for n := range all[i].truth {
				truth := &all[i].truth[n]
				if row.skip != nil && row.skip(truth) {
					continue
				}
				has := false
				for _, r := range all[i].results[n].GetRemarks() {
					has = has || r.GetSign() == row.sign
				}
				switch {
				case row.planted(truth) && has:
					planted, found = planted+1, found+1
				case row.planted(truth):
					planted++
				case has:
					others, remarked = others+1, remarked+1
				default:
					others++
				}
			}
		}
		fmt.Fprintf(table, "| %s: %s | %d | %.3f | %d | %.5f |\n", signName(row.sign), row.name, planted, rate(found, planted), others, rate(remarked, others))
		if rate(found, planted) < row.least {
			t.Errorf("%s: %d of %d are found, wanted %.2f", row.name, found, planted, row.least)
		}
		if rate(remarked, others) > 0.005 {
			t.Errorf("%s: %d of %d other records are remarked on", row.name, remarked, others)
		}
	}
}

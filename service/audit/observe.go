package audit

import (
	"cmp"
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/statistic"
)

// greatestQ is the q-value up to which something is told: of what is told, about
// one in a hundred is there by chance alone.
const greatestQ = 0.01

// trial makes the tests of one sign. Those of all groups that are large enough are
// results, whether they show something or not: the correction for many tests needs
// them all.
type trial struct {
	sign pb.AuditSign
	// leastCount is how many opportunities a group has at least, leastEffect how
	// large an effect is told.
	leastCount  int64
	leastEffect float64
	method      string
	measure     string
	run         func(a *Auditor, t *trial) (results []*pb.AuditObservation, tooSmall int64)
}

// trials are in the order of the signs' numbers. The least effects are set so
// that what differs between honest people, in their habits and their instruments,
// is not told; specs/population measures how often it is.
var trials = []*trial{
	recordTrial(pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS, 0.05),
	recordTrial(pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME, 0.05),
	recordTrial(pb.AuditSign_AUDIT_SIGN_TIMES_OUT_OF_ORDER, 0.10),
	recordTrial(pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE, 0.01),
	recordTrial(pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE, 0.01),
	recordTrial(pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT, 0.05),
	{
		sign: pb.AuditSign_AUDIT_SIGN_DIGIT_PREFERENCE, leastCount: 100, leastEffect: 0.3,
		method:  "chi-square test of the last digits 2, 4, 6, 8 and 1, 3, 7, 9 against those of all others, characteristic by characteristic and step by step",
		measure: "Cohen's w, against the others' digits or even ones, whichever is smaller",
		run:     (*Auditor).tryDigits,
	},
	{
		sign: pb.AuditSign_AUDIT_SIGN_PILED_AT_NOMINAL, leastCount: 100, leastEffect: 4,
		method: pileMethod, measure: oddsRatio,
		run: pileTrial(func(h *hand) (int64, int64) { return h.AtNominal, h.NominalOf }),
	},
	{
		sign: pb.AuditSign_AUDIT_SIGN_PILED_AT_LIMIT, leastCount: 100, leastEffect: 4,
		method: pileMethod, measure: oddsRatio,
		run: pileTrial(func(h *hand) (int64, int64) { return h.AtLimit, h.LimitOf }),
	},
	{
		sign: pb.AuditSign_AUDIT_SIGN_DRIFT, leastCount: 30, leastEffect: 0.2,
		method:  "Welch's t test of the slope over time against that within all other shops",
		measure: "change over the period as a share of the limits",
		run:     (*Auditor).tryDrift,
	},
}

const (
	pileMethod = "conditional binomial test against all others, characteristic by characteristic and step by step"
	oddsRatio  = "odds ratio"
	// leastHits is how many records or readings show something at least where it is
	// told as a habit.
	leastHits = 3
	// leastDifference is how far the share is from that elsewhere at least: less is
	// nothing to go and look for, however surely it is there.
	leastDifference = 0.005
)

// recordTrial compares how many records show a sign. What a record shows by itself
// depends on what its sheet asks for; what it shows in the light of others does not.
func recordTrial(sign pb.AuditSign, least float64) *trial {
	t := &trial{sign: sign, leastCount: 20, leastEffect: least, measure: "difference of shares"}
	switch sign {
	case pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME, pb.AuditSign_AUDIT_SIGN_TIMES_OUT_OF_ORDER,
		pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT:
		t.method = "conditional binomial test against all others, revision by revision and phase by phase"
		t.run = recordTest((*Auditor).compareDuties)
	default:
		t.method = "conditional binomial test against all others"
		t.run = recordTest((*Auditor).compareRecords)
	}
	return t
}

// Results gives the result of every test, whether it is told or not, with its
// q-value: trial by trial, for who asks how well the tests work. Of what is told,
// the summary has the words.
func (a *Auditor) Results() []*pb.AuditObservation {
	results, _ := a.test()
	return results
}

// test makes all tests and corrects for their number.
func (a *Auditor) test() (results []*pb.AuditObservation, tests []*pb.AuditTest) {
	for _, t := range trials {
		own, tooSmall := t.run(a, t)
		tests = append(tests, &pb.AuditTest{
			Sign: t.sign, Method: t.method, EffectMeasure: t.measure,
			LeastCount: t.leastCount, LeastEffect: t.leastEffect, GreatestQValue: greatestQ,
			TestedCount: int64(len(own)), TooSmallCount: tooSmall,
		})
		for _, o := range own {
			o.Sign = t.sign
		}
		results = append(results, own...)
	}
	p := make([]float64, len(results))
	for i, o := range results {
		if !(o.PValue >= 0 && o.PValue <= 1) {
			o.PValue = 1 // of a ledger that somebody wrote: its sums may be no numbers
		}
		p[i] = o.PValue
	}
	q, err := statistic.BenjaminiHochberg(p)
	if err != nil {
		panic(err) // all are probabilities
	}
	for i, o := range results {
		o.QValue = q[i]
	}
	return results, tests
}

// observe makes all tests and tells what is large enough and not chance, strongest
// first.
func (a *Auditor) observe(s *pb.AuditSummary) {
	results, tests := a.test()
	s.Tests = tests
	told := map[pb.AuditSign]int64{}
	for _, o := range results {
		if Told(o) {
			told[o.Sign]++
			words[o.Sign].say(o)
			s.Observations = append(s.Observations, o)
		}
	}
	for _, t := range s.Tests {
		t.ToldCount = told[t.Sign]
	}
	slices.SortStableFunc(s.Observations, func(x, y *pb.AuditObservation) int {
		return cmp.Or(cmp.Compare(x.QValue, y.QValue), cmp.Compare(y.Share, x.Share),
			cmp.Compare(x.Shop, y.Shop), cmp.Compare(x.Technician, y.Technician), cmp.Compare(x.Sign, y.Sign),
			cmp.Compare(x.SpecId, y.SpecId), cmp.Compare(x.Characteristic, y.Characteristic))
	})
}

// Told reports whether the result of a test is worth a look: it is not chance, and
// it is large enough to go and look for.
func Told(o *pb.AuditObservation) bool {
	least := math.Inf(1)
	for _, t := range trials {
		if t.sign == o.GetSign() {
			least = t.leastEffect
		}
	}
	switch {
	case o.GetQValue() > greatestQ, math.Abs(o.GetEffect().GetValue()) < least, o.GetHitCount() < leastHits,
		math.Abs(o.GetShare()-o.GetShareElsewhere()) < leastDifference:
		return false
	case o.GetSign() == pb.AuditSign_AUDIT_SIGN_DRIFT:
		return math.Abs(o.GetShare()) >= least // and not the others moved
	}
	return true
}

// tested are the people that tests are made of: each by name.
func (a *Auditor) tested() []int32 {
	var people []int32
	for i := 1; i < a.People.size() && i < len(a.ByHand); i++ {
		people = append(people, int32(i))
	}
	return people
}

func (a *Auditor) observationOf(person int32) *pb.AuditObservation {
	name := a.People.name(person)
	return &pb.AuditObservation{Shop: shopOf(name), Technician: technicianOf(name)}
}

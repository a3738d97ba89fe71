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
		method: "chi-square test of the last digits 2, 4, 6, 8 and 1, 3, 7, 9 against those of all others, characteristic by characteristic and step by step", measure: "Cohen's w",
		run: (*Auditor).tryDigits,
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
		method: "difference of the slope over time from that of all other shops (normal approximation)", measure: "change over the period as a share of the limits",
		run: (*Auditor).tryDrift,
	},
}

const (
	pileMethod = "Mantel-Haenszel test against all others, characteristic by characteristic and step by step"
	oddsRatio  = "odds ratio"
	// leastHits is how many records or readings show something at least where it is
	// told as a habit.
	leastHits = 3
	// leastDifference is how far the share is from that elsewhere at least: less is
	// nothing to go and look for, however surely it is there.
	leastDifference = 0.005
)

func recordTrial(sign pb.AuditSign, least float64) *trial {
	return &trial{
		sign: sign, leastCount: 20, leastEffect: least,
		method: "exact binomial test against the share of all others", measure: "difference of shares",
		run: (*Auditor).tryRecords,
	}
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
			o.PValue = 1 // of a ledger that was made up
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
			cmp.Compare(x.Shop, y.Shop), cmp.Compare(x.Technician, y.Technician), cmp.Compare(x.Sign, y.Sign))
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

// tryRecords compares the share of a person's records that show a sign with that
// of all others. The others' share is taken a little higher than it is (by
// Laplace's rule), so that what was never seen elsewhere is not held impossible.
func (a *Auditor) tryRecords(t *trial) (results []*pb.AuditObservation, tooSmall int64) {
	for _, person := range a.tested() {
		n, k := a.ByHand[person].Chances[t.sign], a.ByHand[person].Shown[t.sign]
		others, theirs := a.Total.Chances[t.sign]-n, a.Total.Shown[t.sign]-k
		if n < t.leastCount || others < t.leastCount {
			if n > 0 {
				tooSmall++
			}
			continue
		}
		k = min(k, n) // joined audits count what shows across them without a chance
		elsewhere := float64(theirs) / float64(others)
		o := a.observationOf(person)
		o.OpportunityCount, o.HitCount = n, k
		o.Share, o.ShareElsewhere = float64(k)/float64(n), elsewhere
		o.PValue = statistic.BinomialUpper(k, n, min(1, float64(theirs+1)/float64(others+2)))
		if in, err := statistic.Wilson(k, n, confidence); err == nil {
			o.Effect = estimate(o.Share-elsewhere, statistic.Interval{Lower: in.Lower - elsewhere, Upper: in.Upper - elsewhere})
		}
		if o.Share < elsewhere {
			o.Effect = &pb.AuditEstimate{} // only more than elsewhere is a sign
		}
		if shown := a.Shown[person]; shown != nil {
			o.ExampleIndices = slices.Clone(shown[t.sign])
		}
		results = append(results, o)
	}
	return results, tooSmall
}

// strata are all of the audit: everybody's hands in each.
func (a *Auditor) strata() []stratumSum {
	var all []stratumSum
	for _, c := range a.Chars {
		for _, s := range c.Strata {
			sum := stratumSum{stratum: s}
			for _, h := range s.Hands {
				sum.all.merge(h)
			}
			all = append(all, sum)
		}
	}
	return all
}

// stratumSum is a stratum with the sum of its hands.
type stratumSum struct {
	*stratum
	all hand
}

// leastOthers is how many readings of others a stratum has at least to be
// compared with.
const leastOthers = 30

// pileTrial compares how often a person's readings stand at a certain place with
// how often those of others do.
func pileTrial(count func(*hand) (hits, of int64)) func(*Auditor, *trial) ([]*pb.AuditObservation, int64) {
	return func(a *Auditor, t *trial) (results []*pb.AuditObservation, tooSmall int64) {
		strata := a.strata()
		for _, person := range a.tested() {
			var tables []statistic.Table
			var n, k int64
			var expected float64
			for i := range strata {
				h := strata[i].Hands[person]
				if h == nil {
					continue
				}
				hits, of := count(h)
				allHits, allOf := count(&strata[i].all)
				if of == 0 || allOf-of < leastOthers {
					continue
				}
				n, k = n+of, k+hits
				expected += float64(of) * float64(allHits-hits) / float64(allOf-of)
				tables = append(tables, statistic.Table{
					ExposedHits: hits, ExposedMisses: of - hits,
					OtherHits: allHits - hits, OtherMisses: allOf - of - (allHits - hits),
				})
			}
			if n < t.leastCount {
				if n > 0 {
					tooSmall++
				}
				continue
			}
			o := a.observationOf(person)
			o.OpportunityCount, o.HitCount = n, k
			o.Share, o.ShareElsewhere = float64(k)/float64(n), expected/float64(n)
			o.PValue, o.Effect = 1, &pb.AuditEstimate{Value: 1}
			if mh, err := statistic.MantelHaenszel(tables); err == nil {
				o.PValue = mh.PUpper
				ratio := mh.OddsRatio
				if math.IsInf(ratio, 1) {
					ratio = math.MaxFloat64 // nobody else ever does; JSON has no infinity
				}
				o.Effect = estimate(ratio, mh.OddsRatioInterval)
			}
			results = append(results, o)
		}
		return results, tooSmall
	}
}

// tryDigits compares a person's last digits with those of all others. Digits are
// seldom spread evenly, since readings lie close together; so each stratum is
// compared with what others have in it.
func (a *Auditor) tryDigits(t *trial) (results []*pb.AuditObservation, tooSmall int64) {
	strata := a.strata()
	for _, person := range a.tested() {
		d := digits{}
		for i := range strata {
			if h := strata[i].Hands[person]; h != nil {
				d.add(h, &strata[i].all)
			}
		}
		fit, w, ok := d.compare()
		if d.n < t.leastCount || !ok {
			if d.n > 0 {
				tooSmall++
			}
			continue
		}
		o := a.observationOf(person)
		favourite := d.favourite()
		o.OpportunityCount, o.HitCount = d.n, d.own[favourite]
		o.Share, o.ShareElsewhere = float64(d.own[favourite])/float64(d.n), d.expected[favourite]/float64(d.n)
		o.PValue, o.Effect = fit.P, &pb.AuditEstimate{Value: w}
		results = append(results, o)
	}
	return results, tooSmall
}

// leastSpread is the standard deviation, in steps of the last digit, that readings
// have at least where their last digits are looked at. With less, which digits come
// up depends on where the readings lie: of normal readings with a standard deviation
// of s steps, the share of a digit differs from a tenth by up to 0.2 exp(-2 (πs/10)²)
// (the first harmonic of a wrapped normal distribution), which is 0.0086 for 4.
const leastSpread = 4

// alike are digits that rounding treats alike: whoever rounds to twos, fives or
// tens writes more of one group and less of the other, but within a group none
// more than the rest. Many people round so, to whom nothing worse can be said than
// that; so digits are compared within a group only, and 0 and 5 not at all.
var alike = [][]int{{2, 4, 6, 8}, {1, 3, 7, 9}}

// digits gathers how often each last digit was written, and how often it would
// have been if the person's readings were like those of the others.
type digits struct {
	n        int64
	own      [10]int64
	expected [10]float64 // by the others alone
	others   [10]int64
	pooled   [10]float64 // by the person and the others together
	theirs   [10]float64 // of the others, by all together
}

func (d *digits) add(h, all *hand) {
	if h.Steps.N < 2 || h.Steps.StdDev() < leastSpread || all.Steps.N-h.Steps.N < leastOthers {
		return
	}
	for _, group := range alike {
		var own, total int64
		for _, i := range group {
			own, total = own+h.Digits[i], total+all.Digits[i]
		}
		rest := total - own
		if own == 0 || rest == 0 {
			continue
		}
		d.n += own
		for _, i := range group {
			other := all.Digits[i] - h.Digits[i]
			d.own[i] += h.Digits[i]
			d.others[i] += other
			d.expected[i] += float64(own) * float64(other) / float64(rest)
			d.pooled[i] += float64(own) * float64(all.Digits[i]) / float64(total)
			d.theirs[i] += float64(rest) * float64(all.Digits[i]) / float64(total)
		}
	}
}

// compare makes the test of homogeneity, person against others, and gives Cohen's
// w of the person against what the others make expect. ok is false where too
// little is expected of some digit.
func (d *digits) compare() (fit statistic.ChiSquare, w float64, ok bool) {
	var observed []int64
	var expected []float64
	var square float64
	free := 0
	for _, group := range alike {
		for _, i := range group {
			if d.pooled[i] < statistic.MinExpected || d.theirs[i] < statistic.MinExpected || d.expected[i] <= 0 {
				return fit, 0, false
			}
			observed = append(observed, d.own[i], d.others[i])
			expected = append(expected, d.pooled[i], d.theirs[i])
			square += (float64(d.own[i]) - d.expected[i]) * (float64(d.own[i]) - d.expected[i]) / d.expected[i]
		}
		free += len(group) - 1
	}
	fit, err := statistic.ChiSquareFit(observed, expected, len(observed)-1-free)
	return fit, math.Sqrt(square / float64(max(d.n, 1))), err == nil
}

// favourite is the digit that was written most above what was expected.
func (d *digits) favourite() int {
	best := 0
	for i := range d.own {
		if float64(d.own[i])-d.expected[i] > float64(d.own[best])-d.expected[best] {
			best = i
		}
	}
	return best
}

// tryDrift compares the slope of readings over time in one shop with that in all
// others, so that a model that changes everywhere is no drift.
func (a *Auditor) tryDrift(t *trial) (results []*pb.AuditObservation, tooSmall int64) {
	for _, c := range a.Chars {
		for _, shop := range inOrder(c.Shops) {
			here := c.Shops[shop].Line
			if shop == pool || here.N == 0 {
				continue
			}
			var others statistic.Line
			for _, other := range inOrder(c.Shops) {
				if other != shop {
					others.Merge(c.Shops[other].Line)
				}
			}
			own, err1 := here.Fit()
			theirs, err2 := others.Fit()
			if here.N < t.leastCount || others.N < t.leastCount || err1 != nil || err2 != nil {
				tooSmall++
				continue
			}
			o := &pb.AuditObservation{
				Shop: a.Shops.name(shop), SpecId: c.Spec, Characteristic: c.ID, DisplayName: c.Name, OpportunityCount: here.N, HitCount: here.N,
			}
			// The period over which as many points, evenly spread, would be spread
			// as these are.
			days := math.Sqrt(12 * here.SXX / float64(here.N))
			difference := own.Slope - theirs.Slope
			se := math.Hypot(own.SlopeSE, theirs.SlopeSE)
			o.PValue = twoSided(difference, se)
			o.Share, o.ShareElsewhere = own.Slope*days, theirs.Slope*days
			o.Effect = estimate(difference*days, statistic.Interval{
				Lower: (difference - 1.96*se) * days, Upper: (difference + 1.96*se) * days,
			})
			results = append(results, o)
		}
	}
	return results, tooSmall
}

// twoSided is the probability of a normal deviate so far from nought.
func twoSided(difference, se float64) float64 {
	if se == 0 {
		if difference == 0 {
			return 1
		}
		return 0
	}
	return math.Erfc(math.Abs(difference) / se / math.Sqrt2)
}

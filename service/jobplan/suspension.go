package jobplan

import (
	"fmt"
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// standardGravity turns masses into loads, m/s² (CGPM 1901).
const standardGravity = 9.80665

// rear is the rear suspension with its rider.
type rear struct {
	machineN, riderN float64
	motionRatio      float64
	rate             float64 // of the spring fitted, N/mm
	rateID           string  // the characteristic that states it, or empty
	static, race     sag
	collar           *collar // nil where the sheet has none that can be reckoned with
}

// sag is what the sheet wants of one sag, mm.
type sag struct {
	wanted, lower, upper float64
}

// collar is the adjuster that preloads the spring, nought where the spring is
// just touched.
type collar struct {
	c       *pb.Characteristic
	figure  figure // in turns
	pitchMM float64
}

// suspension works out how far this rider sinks the rear, the preload that gives
// the wanted race sag or, where the static sag would leave its limits, one that
// gives both, and which spring would give both as the sheet aims at them.
func (j *job) suspension() {
	data := j.sheet.GetPlanning().GetRearSuspension()
	if data == nil || j.req.Rider == nil {
		return
	}
	const what = "The spring and preload for the rider"
	rate, rateID := j.fittedFigure(data.GetSpringRateNPerMm(), statedSpringRate)
	if option := j.otherLinkage(data, rateID); option != nil {
		j.leftOut(what, fmt.Errorf("the sheet's figures are for the suspension as delivered, and %s changes it",
			phrase.LowerFirst(option.GetDisplayName())))
		return
	}
	r := rear{
		machineN:    data.GetSprungMassKg() * standardGravity,
		riderN:      (j.req.Rider.GetMassKg() + j.req.Rider.GetGearMassKg()) * data.GetRiderShare() * standardGravity,
		motionRatio: data.GetMotionRatio(),
		rate:        rate,
		rateID:      rateID,
	}
	var ok bool
	if r.static, ok = sagOf(j.fitted[data.GetStaticSagCharacteristic()]); !ok {
		j.leftOut(what, fmt.Errorf("the sheet aims at no static sag"))
		return
	}
	if r.race, ok = sagOf(j.fitted[data.GetRaceSagCharacteristic()]); !ok {
		j.leftOut(what, fmt.Errorf("the sheet aims at no race sag"))
		return
	}
	r.collar = j.preloadCollar(data)

	if err := j.sagWithFitted(data, &r); err != nil {
		j.leftOut("The sag for the rider", err)
		return
	}
	j.springWanted(data, &r)
}

// sagWithFitted works out the preload for the wanted race sag with the spring
// that is fitted, and what sags come of it.
func (j *job) sagWithFitted(data *pb.SuspensionData, r *rear) error {
	c := j.calculation("sag-for-spring", "Preload of the fitted spring that gives the wanted race sag, and the sags to expect.",
		"Closed form: forces at the wheel in balance, motion ratio taken as constant")
	j.loads(c, data)
	c.in("spring_rate", "rate of the spring fitted", r.rate, newtonPerMM)
	c.in("race_sag_wanted", "race sag aimed at", r.race.wanted, millimetre)

	aim, _ := r.aim(r.rate, r.static, r.race)
	if aim != r.race.wanted {
		c.in("race_sag_set", "race sag set, so that the static sag is right too", aim, millimetre)
	}
	preload, err := workshop.PreloadForSag(r.machineN+r.riderN, aim, r.rate, r.motionRatio)
	if err != nil {
		preload = 0
		c.beware("Even without preload the rider does not sink the spring that far.")
	}
	var shown string
	if r.collar != nil {
		position := r.collar.position(preload)
		preload = position * r.collar.pitchMM
		shown = r.collar.figure.Value(j.req.Units, position)
		if s := j.byID[r.collar.c.GetId()]; s != nil {
			s.figure.target = position
			s.ComputedBy = c.Formula
		}
	}
	static, race, err := workshop.SagForSpring(r.machineN, r.riderN, r.rate, preload, r.motionRatio)
	if err != nil {
		return err
	}
	c.out("preload", "preload at the spring", preload, millimetre)
	if shown != "" {
		c.out("preload_position", r.collar.c.GetDisplayName()+", "+counted(r.collar.c.GetAdjuster())+" from "+
			r.collar.c.GetAdjuster().GetReferencePosition(), preload/r.collar.pitchMM, turn)
	}
	c.out("static_sag", "static sag to expect", static, millimetre)
	c.out("race_sag", "race sag to expect", race, millimetre)
	if r.collar != nil && (race < r.race.lower || race > r.race.upper) {
		c.beware(phrase.Sentence("The permitted turns of the preload do not bring the race sag between %s and %s",
			said(j.req.Units, r.race.lower, millimetre, resultDigits), said(j.req.Units, r.race.upper, millimetre, resultDigits)))
	}
	c.beware("Measure both sags and go by the readings.")
	j.add(c)
	return nil
}

// springWanted works out the spring that gives both sags, and says which to fit.
func (j *job) springWanted(data *pb.SuspensionData, r *rear) {
	c := j.calculation("spring-for-sag", "Spring that gives both the static and the race sag that the sheet aims at.",
		"Closed form: wheel rate = rider's load over the difference of the sags")
	j.loads(c, data)
	c.in("static_sag_wanted", "static sag aimed at", r.static.wanted, millimetre)
	c.in("race_sag_wanted", "race sag aimed at", r.race.wanted, millimetre)
	spring, err := workshop.SpringForSag(r.machineN, r.riderN, r.static.wanted, r.race.wanted, r.motionRatio)
	if err != nil {
		c.beware("No spring gives both sags: one hard enough for this rider would be loose with the wheel extended.")
	} else {
		c.out("spring_rate", "rate wanted", spring.RateNPerMM, newtonPerMM)
	}
	best, ok := j.bestSpring(data, r)
	if ok {
		c.out("available_rate", "nearest that can be had", best.rate, newtonPerMM)
	}
	advice, suits := j.springAdvice(r, spring.RateNPerMM, best, ok)
	c.outText("advice", "what to fit", advice)
	if !suits {
		j.caution(advice)
	}
	j.add(c)
}

// springAdvice says in words whether the fitted spring suits, and otherwise what
// to fit. wanted is the rate that gives both sags, or nought where none does.
func (j *job) springAdvice(r *rear, wanted float64, best fittable, ok bool) (advice string, suits bool) {
	rate := func(v float64) string { return said(j.req.Units, v, newtonPerMM, resultDigits) }
	length := func(v float64) string { return said(j.req.Units, v, millimetre, resultDigits) }
	other := ok && !same(best.rate, r.rate)

	aim, suits := r.aim(r.rate, r.static, r.race)
	switch {
	case suits && aim == r.race.wanted:
		return phrase.Sentence("The fitted spring of %s suits this rider", rate(r.rate)), true
	case suits:
		advice = phrase.Sentence("The fitted spring of %s just suits this rider: set to %s of race sag it leaves %s of static sag",
			rate(r.rate), length(aim), length(aim-r.riderSag(r.rate)))
		if other {
			advice += " " + phrase.Sentence("%s of %s would suit better", phrase.UpperFirst(best.name()), rate(best.rate))
		}
		return advice, true
	}

	left := r.race.wanted - r.riderSag(r.rate)
	hardness, why := "soft", fmt.Sprintf("only %s of static sag is left, and %s is the least", length(left), length(r.static.lower))
	switch loosest := r.mostStatic(r.rate); {
	case loosest < r.static.lower:
		hardness, why = "hard", fmt.Sprintf("it would be loose, for even without preload the machine sinks it by no more than %s", length(loosest))
	case left < 0:
		why = "the rider alone uses all of it up"
	case left > r.static.upper:
		hardness, why = "hard", fmt.Sprintf("the static sag is %s, and %s is the most", length(left), length(r.static.upper))
	}
	advice = phrase.Sentence("The fitted spring of %s is too %s for this rider: with the race sag right, %s", rate(r.rate), hardness, why)
	switch {
	case !other && wanted == 0:
		return advice + " Ask the maker.", false
	case !other:
		return advice + " " + phrase.Sentence("Ask the maker for one of about %s", rate(wanted)), false
	}
	aim, suits = r.aim(best.rate, best.static, best.race)
	advice += " " + phrase.Sentence("Fit %s of %s", best.name(), rate(best.rate))
	if suits {
		return advice + " " + phrase.Sentence("Set to %s of race sag it leaves %s of static sag", length(aim), length(aim-r.riderSag(best.rate))), false
	}
	return advice + " It comes nearer and still does not suit: ask the maker.", false
}

// riderSag returns how far, mm at the wheel, the rider alone sinks a spring: the
// race sag less the static one, whatever the preload.
func (r *rear) riderSag(rate float64) float64 {
	return r.riderN / (rate * r.motionRatio * r.motionRatio)
}

// mostStatic returns the static sag, mm at the wheel, that a spring without
// preload gives.
func (r *rear) mostStatic(rate float64) float64 {
	return r.machineN / (rate * r.motionRatio * r.motionRatio)
}

// aim returns the race sag to set a spring to, and whether both sags are then
// within their limits: the wanted one where it brings the static sag between its
// limits, else the middle of those that do, else the wanted one all the same. A
// soft spring leaves too little static sag, a hard one too much.
func (r *rear) aim(rate float64, static, race sag) (mm float64, suits bool) {
	d := r.riderSag(rate)
	least, most := max(race.lower, static.lower+d), min(race.upper, min(static.upper, r.mostStatic(rate))+d)
	switch {
	case least > most:
		return race.wanted, false
	case least <= race.wanted && race.wanted <= most:
		return race.wanted, true
	case math.IsInf(least, 0) || math.IsInf(most, 0):
		return min(max(race.wanted, least), most), true
	}
	return (least + most) / 2, true
}

// fittable is a spring that can be had, with the sags that the sheet wants with it.
type fittable struct {
	rate         float64
	static, race sag
	// option is the one that fits it, or nil.
	option *pb.Option
	// standard is set for the spring of the machine as delivered.
	standard bool
}

func (f fittable) name() string {
	switch {
	case f.option != nil:
		return "the option " + phrase.LowerFirst(f.option.GetDisplayName())
	case f.standard:
		return "the standard spring"
	}
	return "the spring"
}

// bestSpring returns, of the springs that can be had, the one that is nearest to
// the rate that gives its sags, the first of equals.
func (j *job) bestSpring(data *pb.SuspensionData, r *rear) (best fittable, ok bool) {
	nearest := math.Inf(1)
	for _, f := range j.fittableSprings(data, r) {
		between := f.race.wanted - f.static.wanted
		if between <= 0 {
			continue
		}
		wanted := r.riderN / between / (r.motionRatio * r.motionRatio)
		if d := math.Abs(f.rate - wanted); d < nearest {
			best, ok, nearest = f, true, d
		}
	}
	return best, ok
}

// fittableSprings returns the springs that can be had, without those of options
// that do not go with what is fitted.
func (j *job) fittableSprings(data *pb.SuspensionData, r *rear) []fittable {
	var list []fittable
	for _, rate := range data.GetAvailableRatesNPerMm() {
		f := fittable{rate: rate, static: r.static, race: r.race}
		switch option := j.springOption(rate, r.rateID); {
		case same(rate, r.rate):
		case option != nil:
			if j.excluded(option) {
				continue
			}
			f.option = option
			for _, c := range option.GetAmendment().GetOverride() {
				wants, ok := sagOf(c)
				switch {
				case !ok:
				case c.GetId() == data.GetStaticSagCharacteristic():
					f.static = wants
				case c.GetId() == data.GetRaceSagCharacteristic():
					f.race = wants
				}
			}
		case same(rate, data.GetSpringRateNPerMm()):
			f.standard = true
			f.static, _ = sagOf(j.asDelivered[data.GetStaticSagCharacteristic()])
			f.race, _ = sagOf(j.asDelivered[data.GetRaceSagCharacteristic()])
		}
		list = append(list, f)
	}
	return list
}

// springOption returns the option that fits a spring of that rate, or nil.
func (j *job) springOption(rate float64, rateID string) *pb.Option {
	for _, option := range j.sheet.GetOptions() {
		for _, c := range option.GetAmendment().GetOverride() {
			if c.GetId() != rateID {
				continue
			}
			if f, ok := figureOf(c); ok {
				if v, ok := f.aim(newtonPerMM); ok && same(v, rate) {
					return option
				}
			}
		}
	}
	return nil
}

// excluded reports whether an option does not go with one that is fitted.
func (j *job) excluded(option *pb.Option) bool {
	return slices.ContainsFunc(j.options(), func(fitted *pb.Option) bool {
		return slices.Contains(option.GetExcludes(), fitted.GetId()) || slices.Contains(fitted.GetExcludes(), option.GetId())
	})
}

// loads adds what the spring carries to the inputs.
func (j *job) loads(c calculation, data *pb.SuspensionData) {
	c.in("sprung_mass", "the machine's mass on the rear spring", data.GetSprungMassKg(), kilogram)
	c.in("rider_mass", "rider with gear", j.req.Rider.GetMassKg()+j.req.Rider.GetGearMassKg(), kilogram)
	c.in("rider_share", "share of it on the rear spring", data.GetRiderShare(), plain)
	c.in("motion_ratio", "spring travel over wheel travel", data.GetMotionRatio(), plain)
}

// position returns the permitted position, in whole steps, nearest to a preload.
func (k *collar) position(preloadMM float64) float64 {
	step := k.c.GetAdjuster().GetStep()
	if step == 0 {
		step = 0.25
	}
	lower, upper := k.figure.lower, k.figure.upper
	if reach := k.c.GetAdjuster().GetMechanicalRange(); reach != nil {
		if reach.Lower != nil {
			lower = max(lower, reach.GetLower())
		}
		if reach.Upper != nil {
			upper = min(upper, reach.GetUpper())
		}
	}
	steps := math.Round(preloadMM / k.pitchMM / step)
	return min(max(steps*step, lower), upper)
}

// preloadCollar returns the adjuster that preloads the spring: one with a thread,
// counted in turns inwards, that moves one of the sags. Its nought is taken as the
// spring just touched; where that does not give the static sag of the sheet for
// the machine as delivered, nought means something else, and there is no collar to
// reckon with.
func (j *job) preloadCollar(data *pb.SuspensionData) *collar {
	i := slices.IndexFunc(j.resolved.Characteristics, func(c *pb.Characteristic) bool {
		return slices.Contains(j.moved(c), data.GetRaceSagCharacteristic())
	})
	if i < 0 {
		return nil
	}
	k := collarOf(j.resolved.Characteristics[i])
	delivered := collarOf(j.asDelivered[j.resolved.Characteristics[i].GetId()])
	wanted, ok := sagOf(j.asDelivered[data.GetStaticSagCharacteristic()])
	if k == nil || delivered == nil || !ok {
		return nil
	}
	load := data.GetSprungMassKg() * standardGravity
	turns, ok := delivered.figure.aim(turn)
	static, _, err := workshop.SagForSpring(load, load, data.GetSpringRateNPerMm(), turns*delivered.pitchMM, data.GetMotionRatio())
	if !ok || err != nil || static < wanted.lower || static > wanted.upper {
		return nil
	}
	return k
}

// collarOf reads a collar, or returns nil for what is none.
func collarOf(c *pb.Characteristic) *collar {
	a := c.GetAdjuster()
	f, ok := figureOf(c)
	if !ok || f.Unit != turn || a.GetPitchMm() <= 0 || a.GetCounted() != pb.TurnDirection_TURN_DIRECTION_IN {
		return nil
	}
	return &collar{c: c, figure: f, pitchMM: a.GetPitchMm()}
}

// sagOf reads a sag in mm.
func sagOf(c *pb.Characteristic) (sag, bool) {
	f, ok := figureOf(c)
	if !ok {
		return sag{}, false
	}
	wanted, aimed := f.aim(millimetre)
	lower, upper, length := f.limitsIn(millimetre)
	return sag{wanted: wanted, lower: lower, upper: upper}, aimed && length
}

// otherLinkage returns a fitted option that changes a sag and not the spring:
// travel or linkage are others then, and the sheet does not say which.
func (j *job) otherLinkage(data *pb.SuspensionData, springID string) *pb.Option {
	for _, option := range j.options() {
		sags, spring := false, false
		for _, c := range option.GetAmendment().GetOverride() {
			switch c.GetId() {
			case data.GetStaticSagCharacteristic(), data.GetRaceSagCharacteristic():
				sags = sags || c.GetLimits() != nil
			case springID:
				spring = true
			}
		}
		if sags && !spring {
			return option
		}
	}
	return nil
}

// statedSpringRate reads a spring rate in N/mm.
func statedSpringRate(c *pb.Characteristic) (float64, bool) {
	f, ok := figureOf(c)
	if !ok || c.GetMeasured() == nil || c.GetGroup() != pb.Group_GROUP_SUSPENSION {
		return 0, false
	}
	return f.aim(newtonPerMM)
}

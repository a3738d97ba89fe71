package population

import (
	"fmt"
	"slices"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// shop is a workshop of the cast.
type shop struct {
	index       int
	id          string
	us          bool
	weight      float64
	families    []*family
	bench       []*tool
	technicians []*technician
	// offset is how the shop's readings lie by habit, as a share of the way to the
	// limit.
	offset float64
	// foundShare is how often it writes down what was found before anything was set.
	foundShare float64
	// extraShare is the share of what need not be read that it reads all the same.
	extraShare float64
	// seconds says that a clock stamps its readings, not a hand.
	seconds bool
	// copied says that somebody here copies, so that records are kept to copy from.
	copied bool

	units map[*family]*counters
	fits  map[*plan][]*fit
	known map[fitKey]*fit
	kept  map[*plan]*sheaf
	late  []seen // the last units, to be recorded again
	next  int
}

// fitKey tells apart what one shop reads. Characteristics are shared between plans.
type fitKey struct {
	c   *pb.Characteristic
	aim float64
}

// fitsFor gives how the shop reads each task of a plan; nil for what is no number.
func (s *shop) fitsFor(p *plan) []*fit {
	if fits, ok := s.fits[p]; ok {
		return fits
	}
	fits := make([]*fit, len(p.tasks))
	for i, t := range p.tasks {
		if !t.kind.numeric() {
			continue
		}
		key := fitKey{t.c, t.aim}
		f, ok := s.known[key]
		if !ok {
			f = newFit(t, s.bench)
			s.known[key] = f
		}
		fits[i] = f
	}
	s.fits[p] = fits
	return fits
}

// counters count the units of one family in one shop, by what has been done to
// them.
type counters struct{ prepared, handed, first, served int }

// technician is one person of the cast.
type technician struct {
	id    string
	shop  *shop
	habit Habit
	// pace is how long the work takes them, 1 being usual.
	pace float64
	// spread is how much their readings scatter, 1 being usual.
	spread float64
	// offset as that of the shop.
	offset float64
	// atNominal is how often a fill or an adjuster is set to the nominal value
	// exactly, and onClick how often a wrench is.
	atNominal, onClick float64
	// rounding is how many steps of a scale they read as one, where the tolerance
	// allows it.
	rounding int
	// inventing says how an inventing person makes readings up.
	inventing fancy
	busyUntil int64
}

// fancy is how one person invents.
type fancy struct {
	digits    []int   // last digits they like
	digitRate float64 // how often they use them
	nominal   float64 // share written at the nominal value
	atLimit   float64 // share written at, or one step inside, a limit
	finer     float64 // share of records written finer than the instrument shows
	narrow    float64 // spread, as a share of the way to the limit
	hasty     float64 // share of records faster than the least time
	atOnce    float64 // share of records with one time for all readings
	jumbled   float64 // share of records with times out of order
}

var (
	firstWords = []string{"alder", "amber", "badger", "beacon", "birch", "copper", "dale", "ember", "fern", "flint",
		"glen", "harrow", "heath", "juniper", "kestrel", "lantern", "linden", "marsh", "mill", "moor", "north", "otter",
		"pebble", "quarry", "raven", "ridge", "rowan", "slate", "thorn", "willow"}
	lastWords = []string{"cycles", "motors", "garage", "wheels", "works", "moto", "offroad", "riding", "service", "two-wheel"}
)

// newCast makes the shops and whoever works in them.
func newCast(c Config, all []*family) ([]*shop, error) {
	d := seeded(c.Seed, hash("cast"))
	var shops []*shop
	var people []*technician
	for i := range c.Shops {
		s := &shop{
			index: i, id: shopName(i), us: i%6 == 5, weight: d.between(0.6, 1.6),
			offset: d.between(-0.12, 0.12), foundShare: d.share() * d.share(), extraShare: d.between(0, 0.25),
			seconds: d.chance(0.3),
			units:   make(map[*family]*counters), fits: make(map[*plan][]*fit), known: make(map[fitKey]*fit),
			kept: make(map[*plan]*sheaf),
		}
		s.families = dealership(d, s.us, all, c.From)
		if s.us && !slices.ContainsFunc(s.families, func(f *family) bool { return f.firstDay.Before(c.Until) }) {
			s.us = false
			s.families = dealership(d, false, all, c.From)
		}
		if len(s.families) == 0 {
			return nil, fmt.Errorf("period: no demonstration sheet is in force on %s", c.From.Format(time.DateOnly))
		}
		models := metric
		if s.us {
			models = customary
		}
		s.bench = newBench(d, i, models, c.From)
		for n := range c.FewestTechnicians + d.below(c.MostTechnicians-c.FewestTechnicians+1) {
			t := &technician{
				id: fmt.Sprintf("t%02d", n+1), shop: s, habit: HabitHonest,
				pace: d.between(0.92, 1.35), spread: d.between(0.75, 1.25), offset: d.between(-0.1, 0.1),
				atNominal: d.between(0.15, 0.45), onClick: d.between(0.85, 0.99),
				rounding: 1,
			}
			if coarse := oneOf(d, 2, 5, 5, 10); d.chance(c.Rounding) {
				t.rounding = coarse
			}
			s.technicians = append(s.technicians, t)
			people = append(people, t)
		}
		shops = append(shops, s)
	}
	return shops, plant(d, c, shops, people)
}

// shopName names a shop, each otherwise.
func shopName(i int) string {
	n := i * 7
	name := firstWords[i%len(firstWords)] + "-" + lastWords[(n+i/len(firstWords))%len(lastWords)]
	if round := i / len(firstWords); round > 0 {
		name += fmt.Sprintf("-%d", round+1)
	}
	return name
}

// dealership gives what a shop sells: one maker whose sheets are in force on the
// first day, and perhaps others of the market.
func dealership(d *dice, us bool, all []*family, from time.Time) []*family {
	var makers, early []string
	for _, f := range all {
		if (f.market == "US") != us {
			continue
		}
		if !slices.Contains(makers, f.maker) {
			makers = append(makers, f.maker)
		}
		if (us || !f.firstDay.After(from)) && !slices.Contains(early, f.maker) {
			early = append(early, f.maker)
		}
	}
	if len(early) == 0 {
		return nil
	}
	sold := []string{oneOf(d, early...)}
	for _, m := range makers {
		if !slices.Contains(sold, m) && d.chance(0.4) {
			sold = append(sold, m)
		}
	}
	var list []*family
	for _, f := range all {
		if (f.market == "US") == us && slices.Contains(sold, f.maker) {
			list = append(list, f)
		}
	}
	return list
}

// newFancy gives how a person invents. Each has something that stands out, in turn.
func newFancy(d *dice, turn int) fancy {
	f := fancy{
		digits:    oneOf(d, []int{0, 5}, []int{0, 5, 8}, []int{5, 8}, []int{3, 7}, []int{0}, []int{2, 5, 8}),
		digitRate: d.between(0.5, 0.9), nominal: d.between(0.05, 0.3), atLimit: d.between(0, 0.08),
		narrow: d.between(0.04, 0.3), hasty: d.between(0.2, 0.9), atOnce: d.between(0, 0.3), jumbled: d.between(0, 0.15),
	}
	switch turn % 3 {
	case 0:
		f.nominal = d.between(0.4, 0.7)
	case 1:
		f.atLimit = d.between(0.15, 0.3)
	case 2:
		f.finer = d.between(0.3, 0.7)
	}
	return f
}

// plant gives some people and shops something to be found.
func plant(d *dice, c Config, shops []*shop, people []*technician) error {
	order := make([]int, len(shops))
	for i := range order {
		order[i] = i
	}
	shuffle := func(n int, swap func(i, j int)) {
		for i := n - 1; i > 0; i-- {
			swap(i, d.below(i+1))
		}
	}
	shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	for _, i := range order[:c.DriftingShops] {
		drifting(d, shops[i])
	}
	rest := order[c.DriftingShops:]
	if len(rest) < 2*c.SharedInstruments {
		rest = order
	}
	for n := range c.SharedInstruments {
		share(shops[rest[2*n]], shops[rest[2*n+1]], n)
	}
	var free []*technician
	for _, t := range people {
		if t.habit == HabitHonest {
			free = append(free, t)
		}
	}
	if want := c.Careless + c.Copying + c.Inventing; want > len(free) {
		return fmt.Errorf("cast: %d technicians are too few for %d with habits", len(free), want)
	}
	shuffle(len(free), func(i, j int) { free[i], free[j] = free[j], free[i] })
	for i, t := range free {
		switch {
		case i < c.Careless:
			t.habit, t.spread = HabitCareless, t.spread*1.4
		case i < c.Careless+c.Copying:
			t.habit, t.shop.copied = HabitCopied, true
		case i < c.Careless+c.Copying+c.Inventing:
			t.habit, t.inventing = HabitInvented, newFancy(d, i)
		}
	}
	return nil
}

// drifting makes one instrument of a shop drift.
func drifting(d *dice, s *shop) {
	want := oneOf(d, pressure, caliper, meter)
	for _, t := range s.bench {
		if t.in.GetKind() != want || t.in.GetUnit() == "A" || t.in.GetUnit() == "Ohm" {
			continue
		}
		// By the end it is off by about half of the way to the limit of what it mostly
		// reads.
		switch want {
		case pressure:
			t.drift = inUnit(t, 8, "kPa")
		case caliper:
			t.drift = inUnit(t, 0.7, "mm")
		default:
			t.drift = 0.012 // of the value
		}
		if d.chance(0.5) {
			t.drift = -t.drift
		}
		break
	}
	for _, p := range s.technicians {
		p.habit = HabitDrifting
	}
}

// share puts one instrument on the benches of two shops.
func share(a, b *shop, n int) {
	serial := fmt.Sprintf("TOR-9%03d", n)
	for _, s := range []*shop{a, b} {
		for _, t := range s.bench {
			if t.in.GetKind() == wrench {
				t.in.SerialNumber = serial
				t.known, t.twice = nil, true
			}
			if t.in.GetSerialNumber() == serial {
				break
			}
		}
	}
}

// inUnit gives a difference in the unit that a tool shows.
func inUnit(t *tool, difference float64, unit string) float64 {
	converted, err := quantity.MustUnit(unit).ConvertDifference(difference, t.unit)
	if err != nil {
		panic(err) // a fault of the callers above
	}
	return converted
}

// Member is one technician of the cast.
type Member struct {
	Shop, Technician string
	Habit            Habit
}

// seen is a unit that was recorded lately.
type seen struct {
	family *family
	unit   int
	phase  pb.Phase
	index  int64
}

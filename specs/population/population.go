package population

import (
	"iter"
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Population is a population that can be gone through, any number of times, each
// time the same. It is safe for concurrent use.
type Population struct {
	config   Config
	families []*family
	members  []Member
}

// New makes a population ready. Nothing is made before [Population.Records].
func New(c Config) (*Population, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	all, err := families()
	if err != nil {
		return nil, err
	}
	p := &Population{config: c, families: all}
	shops, err := newCast(c, all)
	if err != nil {
		return nil, err
	}
	for _, s := range shops {
		for _, t := range s.technicians {
			p.members = append(p.members, Member{Shop: s.id, Technician: t.id, Habit: t.habit})
		}
	}
	return p, nil
}

// Members gives the cast, shop by shop. The slice is the caller's.
func (p *Population) Members() []Member { return slices.Clone(p.members) }

// Records makes the records, by the day on which they were finished, and the
// truth about each. A record is the caller's, but its instruments and its lists of
// conditions are shared with others: copy the record to change those.
func (p *Population) Records() iter.Seq2[*pb.SetupRecord, Truth] {
	return func(yield func(*pb.SetupRecord, Truth) bool) {
		shops, err := newCast(p.config, p.families)
		if err != nil {
			panic(err) // it was made before, in New
		}
		m := &maker{config: p.config, calendar: newCalendar(p.config.From, p.config.Until), shops: shops, plans: make(plans)}
		for i := range p.config.Records {
			if err := m.record(i); err != nil {
				panic(err) // a demonstration sheet that cannot be followed; tests go through them all
			}
			if !yield(m.write(), m.draft.truth) {
				return
			}
		}
	}
}

// maker makes one record after another.
type maker struct {
	config   Config
	calendar calendar
	shops    []*shop
	plans    plans
	dice     dice
	draft    draft
	// share is how much of the period has gone.
	share float64
	// weights and used are kept from one record to the next to spare memory.
	weights []float64
	used    []*pb.Instrument
}

// record drafts the record of that index.
func (m *maker) record(index int) error {
	d := &m.dice
	d.reseed(m.config.Seed, uint64(index)+1)
	midnight, share := m.calendar.day(index, m.config.Records)
	m.share = float64(index) / float64(max(m.config.Records, 1))
	s := m.shop(midnight)
	r := &m.draft
	*r = draft{shop: s, entries: r.entries[:0], truth: Truth{Index: int64(index), Shop: s.id}}
	phase := m.machine(midnight)
	if err := m.plan(phase, midnight, share); err != nil {
		return err
	}
	r.truth.Technician, r.truth.Habit = r.who.id, r.who.habit
	m.choose()
	switch {
	case r.who.habit == HabitCopied && d.chance(m.config.CopiedShare) && m.copy():
		m.times()
	case r.who.habit == HabitInvented && d.chance(m.config.InventedShare):
		m.invent()
	case r.who.habit == HabitCareless:
		m.measure()
		m.times()
		m.neglect()
	default:
		m.measure()
		m.times()
		m.err()
	}
	m.keep()
	s.late = remember(s.late, seen{family: r.family, unit: r.unit, phase: phase, index: int64(index)}, &s.next)
	return nil
}

// remember keeps the last few units.
func remember(late []seen, unit seen, next *int) []seen {
	const most = 16
	if len(late) < most {
		return append(late, unit)
	}
	late[*next%most] = unit
	*next++
	return late
}

// shop chooses a shop that has something to do on that day.
func (m *maker) shop(midnight int64) *shop {
	open := func(s *shop) bool {
		return slices.ContainsFunc(s.families, func(f *family) bool { return f.firstDay.Unix() <= midnight })
	}
	m.weights = m.weights[:0]
	for _, s := range m.shops {
		w := s.weight
		if !open(s) {
			w = 0
		}
		m.weights = append(m.weights, w)
	}
	if slices.Max(m.weights) == 0 {
		return m.shops[0]
	}
	return m.shops[m.dice.pick(m.weights)]
}

// machine chooses the unit, and what is to be done to it.
func (m *maker) machine(midnight int64) pb.Phase {
	d, r, s := &m.dice, &m.draft, m.draft.shop
	if len(s.late) > 0 && d.chance(m.config.SameVINShare) {
		again := s.late[d.below(len(s.late))]
		r.family, r.unit = again.family, again.unit
		r.truth.SameVINAs = &again.index
		return again.phase
	}
	m.weights = m.weights[:0]
	for _, f := range s.families {
		w := 1.0
		switch {
		case f.firstDay.Unix() > midnight:
			w = 0
		case 1970+int(midnight/year) > f.year:
			w = 0.3 // last year's model
		}
		m.weights = append(m.weights, w)
	}
	r.family = s.families[d.pick(m.weights)]
	c := s.units[r.family]
	if c == nil {
		c = &counters{}
		s.units[r.family] = c
	}
	var n int
	phase := pb.Phase_PHASE_PRE_DELIVERY
	switch at := d.share(); {
	case at < 0.34 && c.handed < c.prepared:
		phase, n = pb.Phase_PHASE_HANDOVER, c.handed
		c.handed++
	case at >= 0.34 && at < 0.52 && c.first+2 < c.handed:
		phase, n = pb.Phase_PHASE_FIRST_SERVICE, c.first
		c.first++
	case at >= 0.52 && at < 0.62 && c.served+2 < c.first:
		phase, n = pb.Phase_PHASE_SERVICE, c.served
		c.served++
	default:
		n = c.prepared
		c.prepared++
	}
	// Units come to the shops in turn, so that none comes to two.
	r.unit = n*len(m.shops) + s.index
	return phase
}

// plan says when the work is done, by whom and what it takes.
func (m *maker) plan(phase pb.Phase, midnight int64, share float64) error {
	d, r := &m.dice, &m.draft
	own := mix(hash(r.family.id) ^ uint64(r.unit)) // what is the unit's own
	r.vin = r.family.number.vin(r.unit)

	// A long job is not finished early in the day.
	open, end := 10.0, 17.75
	if phase == pb.Phase_PHASE_HANDOVER || phase == pb.Phase_PHASE_SERVICE {
		open = 9
	}
	hour := open + float64(share*(end-open))
	if r.shop.us {
		hour += 6 // across the ocean
	}
	r.finish = midnight + int64(float64(hour*60))*60 + int64(d.below(5))*60

	set := 0
	if n := len(r.family.sets); n > 1 && own%100 < 28 {
		set = 1 + int(own/100)%(n-1)
	}
	revision := r.family.inForce(fromUnix(r.finish))
	p, err := m.plans.get(r.family, revision, phase, set, revision.Bulletins(vin.VIN(r.vin), fromUnix(r.finish)))
	if err != nil {
		return err
	}
	r.plan = p
	r.who = m.technician(r.finish - p.least)

	length := float64(p.least) * 1.06 * r.who.pace * power(float64(0.16*d.normal())+0.1)
	length = math.Max(length, float64(1.02*float64(p.least))+120)
	if r.who.habit == HabitInvented && d.chance(r.who.inventing.hasty) {
		length = float64(p.least) * d.between(0.25, 0.9)
		r.slip(SlipTooFast)
	}
	r.start = r.finish - int64(length)
	if !r.shop.seconds {
		r.start -= r.start % 60
	} else {
		r.finish += int64(d.below(60))
	}
	r.who.busyUntil = max(r.who.busyUntil, r.finish)

	switch phase {
	case pb.Phase_PHASE_PRE_DELIVERY:
		r.hours = decimal{1, 10}.at(d.between(0, 0.3))
	case pb.Phase_PHASE_HANDOVER:
		r.hours = decimal{1, 10}.at(d.between(0.3, 1))
	case pb.Phase_PHASE_FIRST_SERVICE:
		r.hours = decimal{1, 10}.at(math.Min(math.Max(9.6+float64(1.7*d.normal()), 6.2), 14.6))
	default:
		r.hours = decimal{1, 10}.at(d.between(25, 130))
	}
	return nil
}

// technician chooses somebody who has time from then on, if anybody has.
func (m *maker) technician(start int64) *technician {
	s := m.draft.shop
	n := m.dice.below(len(s.technicians))
	for i := range s.technicians {
		if t := s.technicians[(n+i)%len(s.technicians)]; t.busyUntil <= start {
			return t
		}
	}
	return s.technicians[n]
}

// choose lists what is read: what the phase requires, and what this shop reads
// besides.
func (m *maker) choose() {
	r := &m.draft
	fits := r.shop.fitsFor(r.plan)
	for i, t := range r.plan.tasks {
		if t.extra && uniform(mix(t.name^uint64(r.shop.index))) >= r.shop.extraShare {
			continue
		}
		r.entries = append(r.entries, entry{t: t, f: fits[i]})
	}
}

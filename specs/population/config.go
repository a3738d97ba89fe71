package population

import (
	"fmt"
	"time"
)

// Config says what population to make. Start from [Honest] or [Mixed].
type Config struct {
	// Seed of everything that is drawn.
	Seed uint64
	// Records to make.
	Records int
	// From is the first day, Until the day after the last, on which records are
	// finished. Demonstration sheets are in force from October 2024 on.
	From, Until time.Time

	// Shops, and the least and greatest number of technicians in each.
	Shops, FewestTechnicians, MostTechnicians int
	// Technicians of each habit. The others are honest.
	Careless, Copying, Inventing int
	// Shops in which one instrument drifts. All who work there are honest but for
	// that.
	DriftingShops int
	// Pairs of shops that both list one and the same instrument, by its serial number.
	SharedInstruments int

	// CopiedShare is the share of a copying technician's records that repeat the
	// readings of an earlier one. Of these, WholeCopyShare repeat all readings, the
	// others most of them.
	CopiedShare, WholeCopyShare float64
	// InventedShare is the share of an inventing technician's records that are made
	// up.
	InventedShare float64
	// SameVINShare is the share of all records that are a second record of the same
	// phase of a unit, without saying what it corrects.
	SameVINShare float64
	// Rounding is the share of technicians who read a fine scale in steps of two, five
	// or ten of its own, whatever their habit.
	Rounding float64
	// Mistakes is how often honest people err: 1 is about 8 in 100 records, 0 never.
	Mistakes float64
}

// greatest keeps the serial numbers of units from running out.
const greatest = 50_000_000

// Honest is a population of honest technicians in shops that differ much: for
// asking how often an alarm is false.
func Honest(seed uint64, records int) Config {
	return Config{
		Seed: seed, Records: records,
		From: time.Date(2025, 1, 7, 0, 0, 0, 0, time.UTC), Until: time.Date(2026, 12, 19, 0, 0, 0, 0, time.UTC),
		Shops: 30, FewestTechnicians: 1, MostTechnicians: 4,
		Rounding: 0.3, Mistakes: 1,
	}
}

// Mixed is mostly honest, with a few technicians of every other habit, a drifting
// instrument in some shops, an instrument that is in two shops at once, and some
// units that are recorded twice.
func Mixed(seed uint64, records int) Config {
	c := Honest(seed, records)
	c.Careless, c.Copying, c.Inventing = 3, 3, 3
	c.DriftingShops, c.SharedInstruments = 2, 1
	c.CopiedShare, c.WholeCopyShare = 0.6, 0.6
	c.InventedShare = 0.85
	c.SameVINShare = 0.002
	return c
}

// Preset gives the configuration of that name: honest or mixed.
func Preset(name string, seed uint64, records int) (Config, error) {
	switch name {
	case "honest":
		return Honest(seed, records), nil
	case "mixed":
		return Mixed(seed, records), nil
	}
	return Config{}, fmt.Errorf("no preset %q; want honest or mixed", name)
}

func (c Config) check() error {
	share := func(name string, v float64) error {
		if !(v >= 0 && v <= 1) {
			return fmt.Errorf("%s: got %g, want a share from 0 to 1", name, v)
		}
		return nil
	}
	for _, s := range []struct {
		name string
		v    float64
	}{
		{"copied share", c.CopiedShare}, {"whole copy share", c.WholeCopyShare},
		{"invented share", c.InventedShare}, {"same VIN share", c.SameVINShare}, {"rounding", c.Rounding},
	} {
		if err := share(s.name, s.v); err != nil {
			return err
		}
	}
	switch {
	case c.Records < 0 || c.Records > greatest:
		return fmt.Errorf("records: got %d, want 0 to %d", c.Records, greatest)
	case !c.From.Before(c.Until):
		return fmt.Errorf("period: %s is not before %s", c.From.Format(time.DateOnly), c.Until.Format(time.DateOnly))
	case c.Shops < 1 || c.Shops > 5000:
		return fmt.Errorf("shops: got %d, want 1 to 5000", c.Shops)
	case c.FewestTechnicians < 1 || c.MostTechnicians < c.FewestTechnicians || c.MostTechnicians > 99:
		return fmt.Errorf("technicians: got %d to %d, want 1 to 99 in a shop", c.FewestTechnicians, c.MostTechnicians)
	case c.Careless < 0 || c.Copying < 0 || c.Inventing < 0 || c.DriftingShops < 0 || c.SharedInstruments < 0:
		return fmt.Errorf("cast: there is a negative number in it")
	case c.DriftingShops > c.Shops || 2*c.SharedInstruments > c.Shops:
		return fmt.Errorf("cast: %d shops are too few for what is planted in shops", c.Shops)
	case !(c.Mistakes >= 0 && c.Mistakes <= 10):
		return fmt.Errorf("mistakes: got %g, want 0 to 10", c.Mistakes)
	}
	return nil
}

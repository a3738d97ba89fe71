package formula

import (
	"fmt"
	"slices"

	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// sayNoMix words that a ratio of fuel to oil is none. A small number is most
// often the oil in per cent: to mix 2:1 where 2 % is meant gives 25 times the oil.
func (a *argument) sayNoMix(bad *workshop.InputError) string {
	said := fmt.Sprintf("is %s, want %s parts of fuel to one of oil", sayRatio(bad.Value), bad.Want)
	i := slices.Index(a.values, bad.Value)
	if i < 0 || bad.Value >= workshop.LeastPremixRatio {
		return said
	}
	given := a.shown[i]
	inPercent := a.values[i] // of 2:1 and 1:2, that of 2
	switch {
	case given.Unit == percent:
		return said // it was not forgotten
	case !given.ratio:
		inPercent = given.Value
	}
	meant := 100 / inPercent
	if !(meant >= workshop.LeastPremixRatio && meant <= workshop.MostPremixRatio) {
		return said
	}
	return fmt.Sprintf("%s; was %s (%s) meant?", said, quantity.Format(inPercent, percent, usualDigits), sayRatio(meant))
}

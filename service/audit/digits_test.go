package audit

import "testing"

// Of two people who differ, only the one whose digits are uneven is told of.
func TestDigitsOfTwo(t *testing.T) {
	a := newAuditor()
	even, odd := a.People.place("north\neven", mostTechnicians), a.People.place("north\nuneven", mostTechnicians)
	a.ByHand = make([]tally, a.People.size())
	s := &stratum{Step: 0.01, Hands: map[int32]*hand{even: {}, odd: {}}}
	for i := range 1000 {
		add := func(person int32, digit int) {
			h := s.Hands[person]
			h.Digits[digit]++
			h.Steps.Add(float64(i%41 - 20))
		}
		add(even, i%10)
		add(odd, []int{0, 1, 2, 3, 3, 5, 7, 7, 8, 3}[i%10])
	}
	a.Chars = []*characteristic{{ID: "gap", Strata: []*stratum{s}}}
	told := map[string]bool{}
	for _, o := range a.Results() {
		if Told(o) {
			told[o.GetTechnician()] = true
		}
	}
	if told["even"] || !told["uneven"] {
		t.Errorf("told of %v", told)
	}
}

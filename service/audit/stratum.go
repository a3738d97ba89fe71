package audit

// leastOthers is how many readings of others a stratum has at least to be
// compared with.
const leastOthers = 30

// eachHand gives every person's hand in every stratum, with the sum of all hands
// there, stratum by stratum in the order in which they were seen.
func (a *Auditor) eachHand(give func(person int32, own, all *hand)) {
	for _, c := range a.Chars {
		for _, s := range c.Strata {
			people := inOrder(s.Hands)
			var all hand
			for _, person := range people {
				all.merge(s.Hands[person])
			}
			for _, person := range people {
				give(person, s.Hands[person], &all)
			}
		}
	}
}

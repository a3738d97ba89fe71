package audit

import (
	"cmp"
	"math"
	"slices"
)

const (
	// leastSignature is how many readings a record has at least to be compared with
	// others of the same person, leastKnown to be compared with everybody's: among
	// so many, a few readings agree by chance.
	leastSignature = 6
	leastKnown     = 8
	mostSignature  = 32 // readings that are compared
)

// signatureOf gives a number for each reading that two units hardly share by
// chance: values on a scale that is fine enough, and not the value that a tool is
// set to. They are sorted; of many, those with the smallest numbers are taken, so that two
// records with the same readings keep the same. Nil where there are too few.
func signatureOf(spec string, samples []sample) []uint32 {
	var numbers [256]uint32
	all := numbers[:0]
	for i := range samples {
		if s := &samples[i]; s.marks {
			all = append(all, uint32(hash(spec, s.c.GetId(), math.Float64bits(s.value))))
		}
	}
	if len(all) < leastSignature {
		return nil
	}
	slices.Sort(all)
	return slices.Clone(all[:min(len(all), mostSignature)])
}

// part is a number by which a signature is found among everybody's.
type part struct {
	key  uint64
	size int
	// weak says that a match of it alone says nothing: it is less than half.
	weak bool
}

// partsOf gives one part for the whole signature, or where it is long one for each
// half, so that a few changed readings do not hide the rest.
func partsOf(signature []uint32) (parts [2]part, n int) {
	if len(signature) < leastKnown {
		return parts, 0
	}
	halves := [2]part{{key: offset64}, {key: offset64 + 1}} // alike, they are not mistaken for one another
	whole := part{key: offset64, size: len(signature)}
	for _, s := range signature {
		// The lowest bit is as good as drawn by lot, and is the same in every
		// record with that reading.
		half := &halves[s&1]
		half.key, half.size = mix(half.key, uint64(s)), half.size+1
		whole.key = mix(whole.key, uint64(s))
	}
	if min(halves[0].size, halves[1].size) < leastKnown {
		return [2]part{whole}, 1
	}
	for i := range halves {
		halves[i].weak = !isMuch(halves[i].size, len(signature))
	}
	return halves, 2
}

// isMuch reports whether so many readings in common are worth telling of, in a
// signature that is looked for among everybody's.
func isMuch(same, all int) bool { return same >= leastKnown && 2*same >= all-1 }

// shared counts the numbers that two sorted signatures have in common.
func shared(a, b []uint32) int {
	n := 0
	for len(a) > 0 && len(b) > 0 {
		switch cmp.Compare(a[0], b[0]) {
		case 0:
			n++
			a, b = a[1:], b[1:]
		case -1:
			a = a[1:]
		default:
			b = b[1:]
		}
	}
	return n
}

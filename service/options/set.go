package options

import (
	"iter"
	"math/bits"
)

// maxOptions is how many options a sheet may have by the contract.
const maxOptions = 128

// set is a set of options by their places on the sheet.
type set [maxOptions / 64]uint64

func (s set) has(i int) bool { return s[i/64]>>(i%64)&1 != 0 }

func (s *set) add(i int) { s[i/64] |= 1 << (i % 64) }

func (s *set) toggle(i int) { s[i/64] ^= 1 << (i % 64) }

func (s set) union(t set) set {
	for w := range s {
		s[w] |= t[w]
	}
	return s
}

func (s set) minus(t set) set {
	for w := range s {
		s[w] &^= t[w]
	}
	return s
}

func (s set) and(t set) set {
	for w := range s {
		s[w] &= t[w]
	}
	return s
}

func (s set) empty() bool { return s == set{} }

// meets reports whether the sets have an option in common.
func (s set) meets(t set) bool { return !s.and(t).empty() }

// within reports whether t has every option of s.
func (s set) within(t set) bool { return s.minus(t).empty() }

func (s set) size() int {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

// all goes through the set in sheet order.
func (s set) all() iter.Seq[int] {
	return func(yield func(int) bool) {
		for w, word := range s {
			for ; word != 0; word &= word - 1 {
				if !yield(w*64 + bits.TrailingZeros64(word)) {
					return
				}
			}
		}
	}
}

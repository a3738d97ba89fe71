package population

import (
	"math/bits"
	"math/rand/v2"
)

// dice draws numbers. Products are converted before they are added to, so that
// no compiler fuses the two and rounds otherwise than another.
type dice struct{ source rand.PCG }

// mix spreads the bits of a number, so that seeds that follow one another have
// nothing in common (the finaliser of SplitMix64).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// seeded gives dice for one purpose out of many under one seed.
func seeded(seed, purpose uint64) *dice {
	d := &dice{}
	d.reseed(seed, purpose)
	return d
}

func (d *dice) reseed(seed, purpose uint64) { d.source.Seed(mix(seed), mix(purpose^mix(seed))) }

// below draws from 0 to n-1.
func (d *dice) below(n int) int {
	high, _ := bits.Mul64(d.source.Uint64(), uint64(n))
	return int(high)
}

// share draws from 0 up to, but not including, 1.
func (d *dice) share() float64 { return uniform(d.source.Uint64()) }

// uniform takes a number from 0 up to, but not including, 1 from random bits.
func uniform(bits uint64) float64 { return float64(bits>>11) / (1 << 53) }

func (d *dice) chance(p float64) bool { return p > 0 && d.share() < p }

func (d *dice) between(low, high float64) float64 { return low + float64(d.share()*(high-low)) }

// normal draws from very nearly the standard normal distribution: the sum of
// twelve uniform numbers, which is exact in whole numbers.
func (d *dice) normal() float64 {
	var sum uint64
	for range 3 {
		for w := d.source.Uint64(); w != 0; w >>= 16 {
			sum += w & 0xffff
		}
	}
	return float64(int64(sum)-6*0xffff) / 0x10000
}

// power is e to the x, near enough, for x of a few units: by squaring, which
// rounds alike everywhere.
func power(x float64) float64 {
	y := 1 + x/1024
	for range 10 {
		y *= y
	}
	return y
}

// pick draws one of several by their weights, which must not all be nought.
func (d *dice) pick(weights []float64) int {
	var total float64
	for _, w := range weights {
		total += w
	}
	at := float64(d.share() * total)
	for i, w := range weights {
		if at -= w; at < 0 {
			return i
		}
	}
	for i := len(weights) - 1; ; i-- {
		if weights[i] > 0 {
			return i
		}
	}
}

// oneOf draws one of several.
func oneOf[T any](d *dice, of ...T) T { return of[d.below(len(of))] }

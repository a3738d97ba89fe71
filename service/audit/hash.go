package audit

// The numbers that records are recognised by stand in checkpoints, so they are
// the same in every process: FNV-1a over 64 bits, finished so that near inputs
// differ in all bits.

const (
	offset64 = 14695981039346656037
	prime64  = 1099511628211
)

// hash is a number for two texts and a number.
func hash(a, b string, n uint64) uint64 {
	h := uint64(offset64)
	for i := range len(a) {
		h = (h ^ uint64(a[i])) * prime64
	}
	h = (h ^ 0xff) * prime64 // no text holds this byte
	for i := range len(b) {
		h = (h ^ uint64(b[i])) * prime64
	}
	return mix(h, n)
}

// mix adds a number to a hash: the finisher of SplitMix64.
func mix(h, n uint64) uint64 {
	h = (h ^ n) * prime64
	h ^= h >> 30
	h *= 0xbf58476d1ce4e5b9
	h ^= h >> 27
	h *= 0x94d049bb133111eb
	return h ^ h>>31
}

package audit

// sightings remembers by which record something was seen, for as many things as
// it has room for. Where a new one finds no room, the one seen longest ago among
// its neighbours is forgotten. It is a table of buckets, which doubles until it
// has its full size; what it holds depends on nothing but the calls made.
type sightings struct {
	// Buckets has a power of two of them; nil at first.
	Buckets []bucket `cbor:"1,keyasint,omitempty"`
	// Held is how many sightings there are, Forgotten how many had to go.
	Held      int64 `cbor:"2,keyasint,omitempty"`
	Forgotten int64 `cbor:"3,keyasint,omitempty"`
}

// sighting says that something was seen in a record, and whose that was.
type sighting struct {
	_      struct{} `cbor:",toarray"`
	Key    uint64
	Record int64
	// Owner is the place of a shop or a technician in its roster, Unit the number
	// of the machine's VIN.
	Owner int32
	Unit  uint32
	// Weak says that a match of it alone says nothing.
	Weak bool
}

const (
	bucketSize   = 8
	leastBuckets = 64
)

// bucket holds at most bucketSize sightings.
type bucket []sighting

// see looks for a key, and notes it when it is not there. The first sighting of a
// key stays, however often it is seen again; only a weak one gives way to one of
// the same unit that is not.
func (t *sightings) see(now sighting, mostBuckets int) (earlier sighting, seen bool) {
	if t.Buckets == nil {
		t.Buckets = make([]bucket, leastBuckets)
	}
	at := &t.Buckets[now.Key&uint64(len(t.Buckets)-1)]
	for i, s := range *at {
		if s.Key == now.Key {
			if s.Weak && !now.Weak && s.Unit == now.Unit {
				(*at)[i] = now
			}
			return s, true
		}
	}
	for len(*at) >= bucketSize && len(t.Buckets) < mostBuckets {
		t.double()
		at = &t.Buckets[now.Key&uint64(len(t.Buckets)-1)]
	}
	if len(*at) < bucketSize {
		*at = append(*at, now)
		t.Held++
		return sighting{}, false
	}
	oldest := 0
	for i, s := range *at {
		if s.Record < (*at)[oldest].Record {
			oldest = i
		}
	}
	copy((*at)[oldest:], (*at)[oldest+1:])
	(*at)[bucketSize-1] = now
	t.Forgotten++
	return sighting{}, false
}

// double gives every bucket a second one.
func (t *sightings) double() {
	half := len(t.Buckets)
	grown := make([]bucket, 2*half)
	for _, b := range t.Buckets {
		for _, s := range b {
			at := &grown[s.Key&uint64(2*half-1)]
			*at = append(*at, s)
		}
	}
	t.Buckets = grown
}

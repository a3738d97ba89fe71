package audit

// roster gives names small numbers, up to a bound. Number 0 stands for all names
// beyond it, and for none.
type roster struct {
	Names []string `cbor:"1,keyasint,omitempty"`
	// Pooled counts the records whose name found no place.
	Pooled int64 `cbor:"2,keyasint,omitempty"`

	places map[string]int32
}

// pool is the number of what has no place of its own.
const pool = 0

// place gives the number of a name, a new one where there is room for it.
func (r *roster) place(name string, most int) int32 {
	if at, ok := r.places[name]; ok {
		return at
	}
	if r.Names == nil {
		r.Names, r.places = []string{""}, map[string]int32{"": pool}
		if name == "" {
			return pool
		}
	}
	if len(r.Names) > most {
		r.Pooled++
		return pool
	}
	at := int32(len(r.Names))
	r.Names, r.places[name] = append(r.Names, name), at
	return at
}

// name is the name at a place; empty for the pool.
func (r *roster) name(at int32) string {
	if int(at) < len(r.Names) {
		return r.Names[at]
	}
	return ""
}

// size is how many places there are, the pool's among them.
func (r *roster) size() int { return max(1, len(r.Names)) }

// index makes ready a roster that was read, and reports whether its names are
// different from one another.
func (r *roster) index() bool {
	r.places = make(map[string]int32, len(r.Names))
	for i, name := range r.Names {
		r.places[name] = int32(i)
	}
	return len(r.places) == len(r.Names)
}

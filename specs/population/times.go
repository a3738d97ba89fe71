package population

import "time"

func fromUnix(s int64) time.Time { return time.Unix(s, 0).UTC() }

// times stamps the readings in the order of the job, from a little after the start
// to a little before the finish.
func (m *maker) times() {
	d, r := &m.dice, &m.draft
	if len(r.entries) == 0 {
		return
	}
	begin, end := r.start+int64(d.between(60, 300)), r.finish-int64(d.between(60, 400))
	if end <= begin {
		begin, end = r.start, r.finish
	}
	var total float64
	for i := range r.entries {
		total += 0.4 + d.share()
		r.entries[i].at = int64(total * 1024)
	}
	scale := float64(end-begin) / (total * 1024)
	for i := range r.entries {
		e := &r.entries[i]
		at := r.stamp(begin + int64(float64(float64(e.at)*scale)))
		if e.hasFound {
			e.foundAt = r.stamp(max(r.start, at-int64(d.between(90, 400))))
		}
		e.at = at
	}
}

// stamp is a time as this shop writes it, not before the start.
func (r *draft) stamp(at int64) int64 {
	if !r.shop.seconds {
		at -= at % 60
	}
	return min(max(at, r.start), r.finish)
}

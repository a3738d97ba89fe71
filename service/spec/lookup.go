package spec

import (
	"slices"
	"strings"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Query is a person's question about a machine.
type Query struct {
	// Model is a spec identifier or the name of a model as people say it.
	Model string
	// ModelYear, or nought for the newest.
	ModelYear int
	// Market, or empty for the first that has the model.
	Market string
	// Words say what is looked for: "drain bolt", "how much oil".
	Words string
	// Options fitted, in any order. Unknown ones are ignored.
	Options []string
	// VIN is the unit asked about, or empty for none in particular. Then the
	// bulletins for some units only are not applied but told beside each match.
	VIN vin.VIN
	// AsOf is the instant asked about. The zero time stands for the end of
	// time: the newest revision with all its bulletins.
	AsOf time.Time
	// Max is how many matches are wanted at most; nought means 5.
	Max int
}

// Match is a characteristic that answers a query. What it holds is shared and
// must not be modified.
type Match struct {
	// Characteristic, with options applied and the bulletins for the unit; or,
	// where no unit was named, for every unit. One that only bulletins for some
	// units add is as the first of them has it, and its first note says so.
	Characteristic *pb.Characteristic
	// Score from 0 to 1; 1 when every word is a word of its name.
	Score float64
	// Notes tell, in sheet order, what the bulletins in force for some units make
	// of it. There are none where a unit was named.
	Notes []BulletinNote
}

// Proto returns the match as the API shows it. The messages in it are shared.
func (m Match) Proto() *pb.CharacteristicMatch {
	match := &pb.CharacteristicMatch{Characteristic: m.Characteristic, Score: m.Score}
	for _, n := range m.Notes {
		match.Bulletins = append(match.Bulletins, n.Proto())
	}
	return match
}

// endOfTime is later than any time stamp of the contract.
var endOfTime = time.Date(9999, 12, 31, 23, 59, 59, 999999999, time.UTC)

// LookUp finds the sheet that a query is about and the characteristics that its
// words mean, best first, in an order that is always the same. That nothing is
// like the words is no error: there are no matches then.
//
// Among several sheets of a model it takes those that cover the unit, if one is
// named, and of these the newest model year, then the first by identifier.
//
// It returns a *[NotFoundError] when no model is like the one asked for, when
// several are and it is the name of none, or when no sheet covers the unit; a
// *[NotInForceError] when no revision was in force.
func (l *Library) LookUp(q Query) (*Revision, []Match, error) {
	r, err := l.seekModel(q, q.asOf())
	if err != nil {
		return nil, nil, err
	}
	matches, err := r.LookUp(q)
	if err != nil {
		return nil, nil, err
	}
	return r, matches, nil
}

// LookUp finds the characteristics of this sheet that the words of a query mean,
// best first; of the query, Model, ModelYear and Market do not count. Otherwise it
// is [Library.LookUp].
func (r *Revision) LookUp(q Query) ([]Match, error) {
	asOf := q.asOf()
	var some []string
	if q.VIN == "" {
		some = r.bulletinsForSome(asOf)
	}
	ix, err := r.index(q.Options, r.Bulletins(q.VIN, asOf), some)
	if err != nil {
		return nil, err
	}
	most := q.Max
	if most <= 0 {
		most = 5
	}
	return ix.search(q.Words, most), nil
}

// asOf is the instant asked about.
func (q Query) asOf() time.Time {
	if q.AsOf.IsZero() {
		return endOfTime
	}
	return q.AsOf
}

// maxIndexes bounds the indexes that one revision keeps, one for each set of
// options and bulletins asked about. When there are more, all are dropped: that costs a
// millisecond each.
const maxIndexes = 64

// indexCache holds indexes by set of options and bulletins.
type indexCache map[string]*index

// index returns the index over the sheet with options and bulletins applied and
// with notes of what the bulletins in some would do, made at most once for each
// set.
func (r *Revision) index(options, bulletins, some []string) (*index, error) {
	key := r.indexKey(options, bulletins, some)
	r.indexMu.Lock()
	defer r.indexMu.Unlock()
	if ix, ok := r.indexes[key]; ok {
		return ix, nil
	}
	resolved, err := r.Resolve(options, bulletins)
	if err != nil {
		return nil, err
	}
	notes, added, err := r.notes(resolved.Characteristics, options, bulletins, some)
	if err != nil {
		return nil, err
	}
	ix := newIndex(slices.Concat(resolved.Characteristics, added), notes)
	if r.indexes == nil || len(r.indexes) >= maxIndexes {
		r.indexes = make(indexCache)
	}
	r.indexes[key] = ix
	return ix, nil
}

// indexKey is the same for the same options, in whatever order, and the same
// bulletins, which are in sheet order.
func (r *Revision) indexKey(options, bulletins, some []string) string {
	if len(options)+len(bulletins)+len(some) == 0 {
		return ""
	}
	var known []string
	for _, id := range options {
		if _, ok := r.optionPlace[id]; ok {
			known = append(known, id)
		}
	}
	slices.Sort(known)
	return strings.Join(slices.Compact(known), " ") + "/" + strings.Join(bulletins, " ") + "/" + strings.Join(some, " ")
}

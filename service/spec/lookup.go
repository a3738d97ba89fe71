package spec

import (
	"slices"
	"strings"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
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
	// AsOf is the instant asked about. The zero time stands for the end of
	// time: the newest revision with all its bulletins.
	AsOf time.Time
	// Max is how many matches are wanted at most; nought means 5.
	Max int
}

// Match is a characteristic that answers a query.
type Match struct {
	// Characteristic, with options applied and bulletins for every machine. It
	// is shared and must not be modified.
	Characteristic *pb.Characteristic
	// Score from 0 to 1; 1 when every word is a word of its name.
	Score float64
}

// endOfTime is later than any time stamp of the contract.
var endOfTime = time.Date(9999, 12, 31, 23, 59, 59, 999999999, time.UTC)

// LookUp finds the sheet that a query is about and the characteristics that its
// words mean, best first, in an order that is always the same. That nothing is
// like the words is no error: there are no matches then. It returns a
// *[NotFoundError] when no model is like the one asked for, a
// *[NotInForceError] when no revision was in force.
func (l *Library) LookUp(q Query) (*Revision, []Match, error) {
	asOf := q.AsOf
	if asOf.IsZero() {
		asOf = endOfTime
	}
	r, err := l.seekModel(q.Model, q.ModelYear, q.Market, asOf)
	if err != nil {
		return nil, nil, err
	}
	ix, err := r.index(q.Options, r.Bulletins("", asOf))
	if err != nil {
		return nil, nil, err
	}
	most := q.Max
	if most <= 0 {
		most = 5
	}
	return r, ix.search(q.Words, most), nil
}

// maxIndexes bounds the indexes that one revision keeps, one for each set of
// options asked about. When there are more, all are dropped: that costs a
// millisecond each.
const maxIndexes = 64

// indexCache holds indexes by set of options and bulletins.
type indexCache map[string]*index

// index returns the index over the sheet with options and bulletins applied,
// made at most once for each set.
func (r *Revision) index(options, bulletins []string) (*index, error) {
	key := r.indexKey(options, bulletins)
	r.indexMu.Lock()
	defer r.indexMu.Unlock()
	if ix, ok := r.indexes[key]; ok {
		return ix, nil
	}
	resolved, err := r.Resolve(options, bulletins)
	if err != nil {
		return nil, err
	}
	ix := newIndex(resolved.Characteristics)
	if r.indexes == nil || len(r.indexes) >= maxIndexes {
		r.indexes = make(indexCache)
	}
	r.indexes[key] = ix
	return ix, nil
}

// indexKey is the same for the same set, in whatever order.
func (r *Revision) indexKey(options, bulletins []string) string {
	if len(options)+len(bulletins) == 0 {
		return ""
	}
	var known []string
	for _, id := range options {
		if _, ok := r.optionPlace[id]; ok {
			known = append(known, id)
		}
	}
	slices.Sort(known)
	return strings.Join(slices.Compact(known), " ") + "/" + strings.Join(bulletins, " ")
}

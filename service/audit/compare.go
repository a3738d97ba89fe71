package audit

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/statistic"
)

// comparison holds what one person's records or readings show against what those of
// all others do. It gathers strata, in each of which all work under the same
// conditions; one where nobody else is compares nothing.
type comparison struct {
	n, k           int64 // opportunities and hits of the person
	others, theirs int64 // and of the others
	tables         []statistic.Table

	elsewhere float64 // the person's hits, if they had the others' share in each stratum
	mean      float64 // and if all had the same share in it
	most      int64   // hits that the person could have of those that there are
}

// add adds a stratum: the person's opportunities and hits, and those of all.
func (c *comparison) add(n, k, all, allHits int64) {
	others, theirs := all-n, allHits-k
	if n == 0 || others == 0 {
		return
	}
	c.n, c.k = c.n+n, c.k+k
	c.others, c.theirs = c.others+others, c.theirs+theirs
	c.tables = append(c.tables, statistic.Table{
		ExposedHits: k, ExposedMisses: n - k, OtherHits: theirs, OtherMisses: others - theirs,
	})
	c.elsewhere += float64(float64(n) * (float64(theirs) / float64(others))) // converted: never fused, the same bits everywhere
	c.mean += float64(float64(n) * (float64(allHits) / float64(all)))
	c.most += min(n, allHits)
}

// p is the probability of so many hits or more if the person and the others have the
// same share in each stratum.
//
// Which of all hits of a stratum are the person's is then as if drawn by lot, so
// that the share itself, which is only known from few, plays no part. A sum of such
// hypergeometric numbers is one of independent trials (Vatutin and Mikhailov 1982),
// and the upper tail of that is at most the binomial one with the same mean and
// number of trials (Hoeffding, Annals of Mathematical Statistics 27, 1956; both from
// memory). Nothing is approximated, however rare hits are.
func (c *comparison) p() float64 {
	if c.most <= 0 {
		return 1
	}
	return statistic.BinomialUpper(c.k, c.most, min(1, c.mean/float64(c.most)))
}

// fill states the shares and the p-value.
func (c *comparison) fill(o *pb.AuditObservation) {
	o.OpportunityCount, o.HitCount = c.n, c.k
	o.Share, o.ShareElsewhere = float64(c.k)/float64(c.n), c.elsewhere/float64(c.n)
	o.PValue = c.p()
}

// difference estimates how much larger the person's share is. Its interval is of the
// two shares' Wilson intervals (Newcombe, Statistics in Medicine 17, 1998, method 10,
// from memory); that of the others is taken as if their strata were one.
func (c *comparison) difference() *pb.AuditEstimate {
	share, elsewhere := float64(c.k)/float64(c.n), c.elsewhere/float64(c.n)
	all := float64(c.theirs) / float64(c.others)
	own, errOwn := statistic.Wilson(c.k, c.n, confidence)
	theirs, errTheirs := statistic.Wilson(c.theirs, c.others, confidence)
	if errOwn != nil || errTheirs != nil {
		return &pb.AuditEstimate{Value: share - elsewhere}
	}
	return estimate(share-elsewhere, statistic.Interval{
		Lower: share - elsewhere - math.Hypot(share-own.Lower, theirs.Upper-all),
		Upper: share - elsewhere + math.Hypot(own.Upper-share, all-theirs.Lower),
	})
}

// odds estimates the odds ratio that is common to the strata (Mantel and Haenszel).
// Where it has no bound, because none of the others or all of the person's show it,
// half of one is added to each count, and the strata are taken as one.
func (c *comparison) odds() *pb.AuditEstimate {
	mh, err := statistic.MantelHaenszel(c.tables)
	switch {
	case err != nil:
		return &pb.AuditEstimate{Value: 1} // nothing to compare
	case !math.IsInf(mh.OddsRatio, 1):
		return estimate(mh.OddsRatio, mh.OddsRatioInterval)
	}
	hits, misses := float64(c.k)+0.5, float64(c.n-c.k)+0.5
	theirs, others := float64(c.theirs)+0.5, float64(c.others-c.theirs)+0.5
	ratio := hits / misses * (others / theirs)
	half := 1.96 * math.Sqrt(1/hits+1/misses+1/theirs+1/others)
	return estimate(ratio, statistic.Interval{Lower: ratio * math.Exp(-half), Upper: ratio * math.Exp(half)})
}

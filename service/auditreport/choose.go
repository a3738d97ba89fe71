package auditreport

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/statistic"
)

// Which characteristics are drawn. A drawing of each would make a report that is
// too large to send and too long to read.
const (
	// mostDrawn are drawn in full. An audit that has no more has all of them drawn.
	mostDrawn = 60
	// mostByRank are drawn because of their rank alone, by share and by Cpk.
	mostByRank = 20
	// capable is the Cpk below which a characteristic is drawn for it.
	capable = 1.33
	// greatestRevisionsQ is the q-value at or below which revisions differ.
	greatestRevisionsQ = 0.05
)

// chosen is a characteristic that is drawn, and why.
type chosen struct {
	*pb.AuditCharacteristic
	because []string
}

// rule is one reason to draw a characteristic.
type rule struct {
	name  string // for the line of one
	of    string // what it is about, after how many of them are drawn
	first string // which of them are, where that is not all
	count int    // how many meet it
	meet  []*pb.AuditCharacteristic
}

// choice is what is drawn, worst first, and by which rules.
type choice struct {
	drawn []chosen
	rules []rule // none where all are drawn
}

// key tells characteristics of one name in different specs apart.
type key struct{ spec, characteristic string }

func keyOf(c *pb.AuditCharacteristic) key { return key{c.GetSpecId(), c.GetCharacteristic()} }

func (b *builder) choose() choice {
	list := slices.Clone(b.s.GetCharacteristics())
	slices.SortStableFunc(list, worse)
	var out choice
	if len(list) <= mostDrawn {
		for _, c := range list {
			out.drawn = append(out.drawn, chosen{AuditCharacteristic: c})
		}
		return out
	}
	out.rules = b.rules(list)
	// The rules take turns, so that a long list of one leaves room for the others.
	because := map[*pb.AuditCharacteristic]bool{}
	for turn := 0; len(because) < mostDrawn; turn++ {
		any := false
		for _, r := range out.rules {
			if turn < len(r.meet) {
				any = true
				if len(because) < mostDrawn {
					because[r.meet[turn]] = true
				}
			}
		}
		if !any {
			break
		}
	}
	for _, c := range list {
		if !because[c] {
			continue
		}
		one := chosen{AuditCharacteristic: c}
		for _, r := range out.rules {
			if slices.Contains(r.meet, c) {
				one.because = append(one.because, r.name)
			}
		}
		out.drawn = append(out.drawn, one)
	}
	return out
}

// rules finds whom each rule would have drawn, most needed first. The list is in
// the order of [worse].
func (b *builder) rules(list []*pb.AuditCharacteristic) []rule {
	observed := rule{name: "worth a look", of: "named under what is worth a look"}
	seen := map[key]bool{}
	for _, o := range b.s.GetObservations() {
		for _, c := range list {
			if o.GetCharacteristic() == "" || o.GetCharacteristic() != c.GetCharacteristic() || o.GetSpecId() != "" && o.GetSpecId() != c.GetSpecId() {
				continue
			}
			if !seen[keyOf(c)] {
				seen[keyOf(c)] = true
				observed.meet = append(observed.meet, c)
			}
		}
	}
	observed.count = len(observed.meet)

	revised := rule{name: "revisions", of: "whose readings differ between revisions (q" + space + "≤" + space + plain(greatestRevisionsQ, 2) + ")"}
	var compared []*pb.AuditCharacteristic
	var p []float64
	for _, c := range list {
		if v := c.GetRevisionsPValue(); c.RevisionsPValue != nil && isShare(v) {
			compared, p = append(compared, c), append(p, v)
		}
	}
	if q, err := statistic.BenjaminiHochberg(p); err == nil {
		at := map[*pb.AuditCharacteristic]float64{}
		for i, c := range compared {
			if at[c] = q[i]; q[i] <= greatestRevisionsQ {
				revised.meet = append(revised.meet, c)
			}
		}
		slices.SortStableFunc(revised.meet, func(x, y *pb.AuditCharacteristic) int {
			return cmp.Or(cmp.Compare(at[x], at[y]), cmp.Compare(x.GetRevisionsPValue(), y.GetRevisionsPValue()))
		})
	}
	revised.count = len(revised.meet)

	wrong := rule{name: "share", of: "with anything nonconforming", first: "those with the largest share"}
	for _, c := range list {
		if c.GetTally().GetNonconforming() > 0 {
			wrong.count++
			if len(wrong.meet) < mostByRank {
				wrong.meet = append(wrong.meet, c)
			}
		}
	}

	spread := rule{name: "Cpk", of: fmt.Sprintf("with a Cpk below %s", plain(capable, 3)), first: "those with the smallest"}
	for _, c := range list {
		if v, ok := leastCpk(c); ok && v < capable {
			spread.meet = append(spread.meet, c)
		}
	}
	spread.count = len(spread.meet)
	slices.SortStableFunc(spread.meet, func(x, y *pb.AuditCharacteristic) int {
		a, _ := leastCpk(x)
		b, _ := leastCpk(y)
		return cmp.Compare(a, b)
	})
	spread.meet = spread.meet[:min(len(spread.meet), mostByRank)]
	return []rule{observed, revised, wrong, spread}
}

// worse orders characteristics: more of it nonconforming first, by the lower
// bound of the share's interval, so that one of one does not lead; then the
// smaller Cpk, then by spec and identifier. One without a Cpk follows those with
// one.
func worse(x, y *pb.AuditCharacteristic) int {
	share := func(c *pb.AuditCharacteristic) float64 {
		o := outcomesOf(c.GetTally())
		return atLeast(o.wrong, o.due)
	}
	cpk := func(c *pb.AuditCharacteristic) float64 {
		if v, ok := leastCpk(c); ok {
			return v
		}
		return math.Inf(1)
	}
	return cmp.Or(
		cmp.Compare(share(y), share(x)),
		cmp.Compare(cpk(x), cpk(y)),
		cmp.Compare(x.GetSpecId(), y.GetSpecId()),
		cmp.Compare(x.GetCharacteristic(), y.GetCharacteristic()),
	)
}

// leastCpk is the smallest Cpk in any set of limits.
func leastCpk(c *pb.AuditCharacteristic) (float64, bool) {
	least, ok := 0.0, false
	for _, d := range c.GetDistributions() {
		e := d.GetCapability().GetCpk()
		if v := e.GetValue(); e != nil && finite(v) && (!ok || v < least) {
			least, ok = v, true
		}
	}
	return least, ok
}

// atLeast is the lower bound of the 95 % interval of a share (Wilson).
func atLeast(k, n int64) float64 {
	i, err := statistic.Wilson(k, n, 0.95)
	if err != nil {
		return 0
	}
	return i.Lower
}

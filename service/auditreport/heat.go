package auditreport

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// heatMap shows in which shop which characteristic goes wrong.
type heatMap struct {
	Table *table
	// Whole is the map with every shop and characteristic that may be drawn, where
	// that is more than Table has: in parts that fit on paper.
	Whole []table
	More  string
	// Left says what is not drawn at all.
	Left  string
	Steps []heatStep
}

// heatStep is a shade of the map and what it stands for.
type heatStep struct{ Class, Name string }

// Sizes of the map at first sight, and of the whole one.
const (
	shownMapShops   = 10
	shownMapRows    = 15
	wholeMapShops   = 60
	wholeMapRows    = 120
	heatStepsOpenAt = 5 // the number of the darkest shade
)

var heatEnds = [heatStepsOpenAt]float64{0, 0.02, 0.05, 0.10, 0.20}

// heatClass is the shade of a share.
func heatClass(share float64) string {
	for i, end := range heatEnds {
		if share <= end {
			return fmt.Sprintf("h%d", i)
		}
	}
	return fmt.Sprintf("h%d", heatStepsOpenAt)
}

// outcomes counts what a tally says of the readings that were due.
type outcomes struct{ wrong, undecided, missing, due int64 }

func outcomesOf(t *pb.Tally) outcomes {
	o := outcomes{wrong: int64(t.GetNonconforming()), undecided: int64(t.GetUndecided()), missing: int64(t.GetMissing())}
	o.due = int64(t.GetConforming()) + o.wrong + o.undecided + o.missing
	return o
}

func (o *outcomes) add(p outcomes) {
	o.wrong += p.wrong
	o.undecided += p.undecided
	o.missing += p.missing
	o.due += p.due
}

// open are those not shown to conform.
func (o outcomes) open() int64 { return o.wrong + o.undecided + o.missing }

// atLeast is the lower bound of the 95 % interval of the share not shown to
// conform (Wilson), so that one bad record of one does not lead a list.
func (o outcomes) atLeast() float64 {
	if o.due == 0 {
		return 0
	}
	const z = 1.959964
	n, p := float64(o.due), part(o.open(), o.due)
	return (p + z*z/(2*n) - z*math.Sqrt(p*(1-p)/n+z*z/(4*n*n))) / (1 + z*z/n)
}

func (b *builder) heatMap() heatMap {
	type place struct{ shop, characteristic string }
	cells := map[place]outcomes{}
	var shops, rows []string
	byShop, byRow := map[string]outcomes{}, map[string]outcomes{}
	for _, c := range b.s.GetCells() {
		o := outcomesOf(c.GetTally())
		if o.due == 0 {
			continue
		}
		sum := func(m map[string]outcomes, order *[]string, key string) {
			known, ok := m[key]
			if !ok {
				*order = append(*order, key)
			}
			known.add(o)
			m[key] = known
		}
		sum(byShop, &shops, c.GetShop())
		sum(byRow, &rows, c.GetCharacteristic())
		at := place{c.GetShop(), c.GetCharacteristic()}
		known := cells[at]
		known.add(o)
		cells[at] = known
	}
	if len(cells) == 0 {
		return heatMap{}
	}
	worst := func(m map[string]outcomes) func(x, y string) int {
		return func(x, y string) int {
			return cmp.Or(cmp.Compare(m[y].atLeast(), m[x].atLeast()), cmp.Compare(m[y].open(), m[x].open()), cmp.Compare(x, y))
		}
	}
	slices.SortFunc(shops, worst(byShop))
	slices.SortFunc(rows, worst(byRow))

	draw := func(caption string, shops, rows []string) *table {
		t := table{ID: b.tableID(), Caption: caption, Class: "heat", Scroll: true, Columns: []column{head("Characteristic"), {Head: "All shops", Class: "up sum"}}}
		for _, s := range shops {
			t.Columns = append(t.Columns, column{Head: nameOr(s, "not stated"), Class: "up"})
		}
		for _, r := range rows {
			all := heatCell(byRow[r], true)
			all.Class += " sum"
			row := []cell{text(b.name(r)), all}
			for _, s := range shops {
				o, ok := cells[place{s, r}]
				row = append(row, heatCell(o, ok))
			}
			t.Rows = append(t.Rows, row)
		}
		return &t
	}
	out := heatMap{Steps: []heatStep{{"h0", "none"}}}
	for i, end := range heatEnds[1:] {
		out.Steps = append(out.Steps, heatStep{fmt.Sprintf("h%d", i+1), "to " + wholePercent(end)})
	}
	out.Steps = append(out.Steps, heatStep{fmt.Sprintf("h%d", heatStepsOpenAt), "above " + wholePercent(heatEnds[heatStepsOpenAt-1])})
	caption := "Not shown to conform, by characteristic and shop"
	if len(shops) <= shownMapShops+2 && len(rows) <= shownMapRows+3 {
		out.Table = draw(caption, shops, rows)
		return out
	}
	out.Table = draw(caption+": the worst", shops[:min(len(shops), shownMapShops)], rows[:min(len(rows), shownMapRows)])
	drawn, from := shops[:min(len(shops), wholeMapShops)], 0
	for part := range slices.Chunk(drawn, shownMapShops) {
		said := fmt.Sprintf("%s: shops %d to %d of %d", caption, from+1, from+len(part), len(shops))
		out.Whole = append(out.Whole, *draw(said, part, rows[:min(len(rows), wholeMapRows)]))
		from += len(part)
	}
	out.More = fmt.Sprintf("The whole map: %s and %s", counted(int64(len(rows)), "characteristic"), counted(int64(len(shops)), "shop"))
	if len(shops) > wholeMapShops || len(rows) > wholeMapRows {
		out.Left = fmt.Sprintf("Drawn are the worst %d of %s and the worst %d of %s.",
			min(len(shops), wholeMapShops), counted(int64(len(shops)), "shop"), min(len(rows), wholeMapRows), counted(int64(len(rows)), "characteristic"))
	}
	return out
}

func heatCell(o outcomes, known bool) cell {
	if !known || o.due == 0 {
		return cell{Text: none, Unseen: "not read here", Class: "hx"}
	}
	share := part(o.open(), o.due)
	c := cell{Text: wholePercent(share), Small: count(o.open()) + "/" + count(o.due), Class: heatClass(share)}
	if o.open() > 0 {
		c.Unseen = fmt.Sprintf("nonconforming %s, undecided %s, missing %s", count(o.wrong), count(o.undecided), count(o.missing))
	}
	return c
}

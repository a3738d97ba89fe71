package auditreport

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
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
	wholeMapShops   = 40
	wholeMapRows    = 60
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
			return cmp.Or(cmp.Compare(atLeast(m[y].open(), m[y].due), atLeast(m[x].open(), m[x].due)), cmp.Compare(m[y].open(), m[x].open()), cmp.Compare(x, y))
		}
	}
	slices.SortFunc(shops, worst(byShop))
	slices.SortFunc(rows, worst(byRow))

	draw := func(caption string, shops, rows []string) *table {
		t := table{ID: b.tableID(), Caption: caption, Class: "heat", Scroll: true, Columns: []column{head("Characteristic"), {Head: "All shops", Class: "up sum"}}}
		for _, s := range shops {
			t.Columns = append(t.Columns, column{Head: nameOr(s, "not stated"), Class: "up", Free: true})
		}
		for _, r := range rows {
			all := heatCell(byRow[r], true)
			all.Class = strings.TrimSpace(all.Class + " sum")
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
	shown := func(all, most int, noun string) string {
		if all > most {
			return fmt.Sprintf("the worst %d of %s", most, counted(int64(all), noun))
		}
		return counted(int64(all), noun)
	}
	out.More = "The whole map"
	if len(shops) > wholeMapShops || len(rows) > wholeMapRows {
		out.More = "More of the map"
		out.Left = phrase.Sentence("What is not here, of %s and %s, is in the audit’s JSON summary", counted(int64(len(rows)), "characteristic"), counted(int64(len(shops)), "shop"))
	}
	out.More += ": " + shown(len(rows), wholeMapRows, "characteristic") + ", " + shown(len(shops), wholeMapShops, "shop")
	return out
}

func heatCell(o outcomes, known bool) cell {
	if !known || o.due == 0 {
		return cell{Text: none, Class: "hx"}
	}
	share := part(o.open(), o.due)
	c := cell{Text: wholePercent(share), Small: count(o.open()) + "/" + count(o.due)}
	// Most are without anything: a cell that has no class is.
	if share > 0 {
		c.Class = heatClass(share)
	}
	return c
}

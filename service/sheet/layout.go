package sheet

import (
	"slices"

	"codeberg.org/go-pdf/fpdf"
)

// This file lays blocks out on the pages of the PDF.

// layout is a sheet being laid out: what is put goes at the pen's height y of the
// last page.
type layout struct {
	s                     *Sheet
	pageWidth, pageHeight float64
	left, width           float64
	top, bottom           float64
	y                     float64
	pages                 [][]op
}

func newLayout(s *Sheet) *layout {
	w, h := s.opt.Paper.size()
	l := &layout{
		s: s, pageWidth: w, pageHeight: h,
		left: marginLeft, width: w - marginLeft - marginRight,
		top: marginTop, bottom: h - marginBottom,
	}
	l.newPage()
	return l
}

func (l *layout) newPage() {
	l.pages = append(l.pages, nil)
	l.y = l.top
}

func (l *layout) put(ops ...op) {
	last := len(l.pages) - 1
	l.pages[last] = append(l.pages[last], ops...)
}

func (l *layout) room() float64     { return l.bottom - l.y }
func (l *layout) pageRoom() float64 { return l.bottom - l.top }
func (l *layout) atTop() bool       { return l.y <= l.top }

// need begins a new page unless there is so much room, or the page is fresh.
func (l *layout) need(h float64) {
	if h > l.room()+1e-6 && !l.atTop() {
		l.newPage()
	}
}

// space leaves room between blocks, but not at the top of a page.
func (l *layout) space(h float64) {
	if !l.atTop() {
		l.y += h
	}
}

// sheet lays the whole sheet out.
func (l *layout) sheet() {
	l.put(textOp(l.left, l.y+6, l.s.kind, 18, true, start, black))
	l.y += 8
	for _, line := range typeset(text{{atMost(l.s.machine, titleText, 3, l.width), titleText}}, l.width) {
		l.put(line.ops(l.left, l.y, black)...)
		l.y += line.height
	}
	l.y += 1.2
	l.put(lineOp(l.left, l.y, l.left+l.width, l.y, heavyPen, black, false))
	l.y += 3
	for i, b := range l.s.blocks {
		switch b := b.(type) {
		case heading:
			l.heading(b, l.s.blocks[i+1:])
		case paragraph:
			l.paragraph(b, l.s.blocks[i+1:])
		case callout:
			l.callout(b)
		case facts:
			l.facts(b)
		case checklist:
			l.checklist(b)
		case table:
			l.table(b)
		case figure:
			l.figure(b)
		case signatures:
			l.signatures(b)
		}
	}
}

const (
	headingHeight = 6.5
	headingSpace  = 4.0
)

// heading stays with the beginning of what follows.
func (l *layout) heading(h heading, next []block) {
	lines := typeset(text{{h.text, headingText}}, l.width)
	l.space(headingSpace)
	l.need(float64(len(lines))*headingHeight + l.beginning(next))
	for _, line := range lines {
		l.put(line.ops(l.left, l.y, black)...)
		l.y += line.height
	}
	l.y += 1.2
}

// beginning is the height of what must stand on one page with the heading above.
func (l *layout) beginning(blocks []block) float64 {
	if len(blocks) == 0 {
		return 0
	}
	switch b := blocks[0].(type) {
	case paragraph:
		h := heightOf(laidLines(b.text, l.width, black)) + 1.5
		if b.leads {
			h += l.beginning(blocks[1:])
		}
		return min(h, l.pageRoom()/2)
	case table:
		head, rows := l.tableHead(b, false), l.tableRows(b)
		h := head.height
		for i, r := range rows {
			if i == 0 || len(rows) <= shortTable {
				h += r.height
			}
		}
		return min(h, l.pageRoom()/2)
	case checklist:
		if h := checklistHeight(l.checkItems(b), b.columns); h <= wholeList {
			return h
		}
		return wholeList / 2
	case figure:
		return b.drawing.height + 8
	case callout:
		return min(l.calloutHeight(b), l.pageRoom()/2)
	}
	return 12
}

// laid is a piece of a stack: it is not cut.
type laid struct {
	height float64
	put    func(x, y float64) []op
}

func laidLines(t text, width float64, colour ink) []laid {
	var out []laid
	for _, line := range typeset(t, width) {
		out = append(out, laid{line.height, func(x, y float64) []op { return line.ops(x, y, colour) }})
	}
	return out
}

func laidGap(h float64) laid { return laid{h, func(x, y float64) []op { return nil }} }

func heightOf(stack []laid) float64 {
	var h float64
	for _, it := range stack {
		h += it.height
	}
	return h
}

func (l *layout) putStack(stack []laid, x, y float64) {
	for _, it := range stack {
		l.put(it.put(x, y)...)
		y += it.height
	}
}

// fitting splits a stack after what fits into a height, one piece at least.
func fitting(stack []laid, height float64) (head, tail []laid) {
	var h float64
	for i, it := range stack {
		h += it.height
		if h > height+1e-6 && i > 0 {
			return stack[:i], stack[i:]
		}
	}
	return stack, nil
}

func (l *layout) paragraph(p paragraph, next []block) {
	stack := laidLines(p.text, l.width, black)
	if p.leads {
		l.need(l.beginning(append([]block{p}, next...)))
	} else if len(stack) <= 4 {
		l.need(heightOf(stack))
	}
	for len(stack) > 0 {
		if stack[0].height > l.room() {
			l.newPage()
		}
		head, tail := fitting(stack, l.room())
		l.putStack(head, l.left, l.y)
		l.y += heightOf(head)
		stack = tail
	}
	l.y += 1.5
}

const (
	calloutPadX = 3.0
	calloutPadY = 2.0
)

func (l *layout) calloutStack(c callout) []laid {
	colour := black
	if c.weight == loudCallout {
		colour = paper
	}
	width := l.width - 2*calloutPadX
	var stack []laid
	if c.title != "" {
		st := placeText
		if c.weight == verdictCallout {
			st = big
		}
		title := c.title
		if c.weight == cautionCallout {
			title = cautionMark + " " + title
		}
		stack = append(stack, laidLines(text{{title, st}}, width, colour)...)
		stack = append(stack, laidGap(0.6))
	}
	for _, it := range c.items {
		if len(c.items) == 1 {
			stack = append(stack, laidLines(it, width, colour)...)
			break
		}
		lines := laidLines(it, width-4, colour)
		for i, line := range lines {
			stack = append(stack, laid{line.height, func(x, y float64) []op {
				ops := line.put(x+4, y)
				if i == 0 {
					ops = append(ops, textOp(x+0.8, y+line.height*0.5+0.35*9.5*mmPerPoint, "•", 9.5, false, start, colour))
				}
				return ops
			}})
		}
		stack = append(stack, laidGap(0.4))
	}
	return stack
}

func (l *layout) calloutHeight(c callout) float64 {
	return heightOf(l.calloutStack(c)) + 2*calloutPadY
}

func (l *layout) callout(c callout) {
	stack := l.calloutStack(c)
	l.space(2)
	l.need(heightOf(stack) + 2*calloutPadY)
	for len(stack) > 0 {
		if stack[0].height+2*calloutPadY > l.room() {
			l.newPage()
		}
		head, tail := fitting(stack, l.room()-2*calloutPadY)
		h := heightOf(head) + 2*calloutPadY
		switch c.weight {
		case cautionCallout:
			l.put(rectOp(l.left, l.y, 1.5, h, 0, none, black))
		case loudCallout:
			l.put(rectOp(l.left, l.y, l.width, h, 0, none, black))
		case verdictCallout:
			l.put(rectOp(l.left+0.4, l.y+0.4, l.width-0.8, h-0.8, 0.8, black, none))
		default:
			l.put(rectOp(l.left, l.y, l.width, h, pen, black, none))
		}
		l.putStack(head, l.left+calloutPadX, l.y+calloutPadY)
		l.y += h
		stack = tail
	}
	l.y += 2.5
}

const factLabel = 29.0

func (l *layout) facts(f facts) {
	const gap, least = 6.0, 6.4
	half := (l.width - gap) / 2
	type placed struct {
		fact  fact
		stack []laid
		x, w  float64
	}
	// Lines of one or two facts.
	var lines [][]placed
	open := false
	for _, it := range f.items {
		p := placed{fact: it, x: l.left, w: half}
		switch {
		case it.wide:
			p.w = l.width
		case open:
			p.x = l.left + half + gap
		}
		switch {
		case it.drawing != nil:
			p.stack = []laid{l.laidDrawing(it.drawing, p.w-factLabel)}
		case !it.blank:
			p.stack = laidLines(plain(atMost(it.value, normal, 6, p.w-factLabel)), p.w-factLabel, black)
		}
		if open && !it.wide {
			lines[len(lines)-1] = append(lines[len(lines)-1], p)
			open = false
			continue
		}
		lines = append(lines, []placed{p})
		open = !it.wide
	}
	for _, line := range lines {
		h := least
		for _, p := range line {
			h = max(h, heightOf(p.stack)+1.8)
		}
		l.need(h)
		for _, p := range line {
			l.put(textOp(p.x, l.y+4.2, p.fact.label, 8, false, start, grey))
			l.putStack(p.stack, p.x+factLabel, l.y+0.9)
			l.put(lineOp(p.x, l.y+h, p.x+p.w, l.y+h, thinPen, grey, false))
		}
		l.y += h
	}
	l.y += 2
}

// laidDrawing is a drawing, made smaller where it would not fit.
func (l *layout) laidDrawing(d *Drawing, width float64) laid {
	scale := 1.0
	if d.width > width {
		scale = width / d.width
		d = d.scaled(scale)
	}
	return laid{d.height, func(x, y float64) []op {
		ops := make([]op, len(d.items))
		for i := range d.items {
			it := &d.items[i]
			ops[i] = func(f *fpdf.Fpdf) { it.pdf(f, x, y) }
		}
		return ops
	}}
}

const (
	tickSize = 3.0
	// mostItemLines is more than any item of a check list has that makes sense.
	mostItemLines = 20
)

func tickOps(x, y float64, ticked bool) []op {
	ops := []op{rectOp(x, y, tickSize, tickSize, 0.25, black, none)}
	if ticked {
		ops = append(ops,
			lineOp(x+0.6, y+0.6, x+tickSize-0.6, y+tickSize-0.6, 0.4, black, false),
			lineOp(x+0.6, y+tickSize-0.6, x+tickSize-0.6, y+0.6, 0.4, black, false))
	}
	return ops
}

// checkItems are the items of a check list, each with its box.
func (l *layout) checkItems(c checklist) []laid {
	width := columnWidth(l.width, c.columns)
	out := make([]laid, len(c.items))
	for i, it := range c.items {
		stack := laidLines(it, width-tickSize-1.5, black)
		if len(stack) > mostItemLines {
			stack = stack[:mostItemLines]
		}
		out[i] = laid{heightOf(stack) + 1, func(x, y float64) []op {
			ops := tickOps(x, y+0.9, false)
			y += 0.5
			for _, line := range stack {
				ops = append(ops, line.put(x+tickSize+1.5, y)...)
				y += line.height
			}
			return ops
		}}
	}
	return out
}

const columnGap = 6.0

func columnWidth(width float64, columns int) float64 {
	return (width - float64(columns-1)*columnGap) / float64(columns)
}

// columnsOf fills columns downwards, as even as they get in order.
func columnsOf(items []laid, columns int) [][]laid {
	var out [][]laid
	for len(items) > 0 {
		left := columns - len(out)
		n := (len(items) + left - 1) / left
		out = append(out, items[:n])
		items = items[n:]
	}
	return out
}

// wholeList is the height in millimetres up to which a check list is kept on one
// page; of a higher one at least half as much begins on a page.
const wholeList = 50.0

func checklistHeight(items []laid, columns int) float64 {
	var h float64
	for _, c := range columnsOf(items, columns) {
		h = max(h, heightOf(c))
	}
	return h
}

func (l *layout) checklist(c checklist) {
	items := l.checkItems(c)
	width := columnWidth(l.width, c.columns)
	for len(items) > 0 {
		n := len(items)
		if h := checklistHeight(items, c.columns); h <= wholeList || l.room() < wholeList/2 {
			l.need(h)
		}
		for n > 1 && checklistHeight(items[:n], c.columns) > l.room() {
			n--
		}
		if n == 1 && items[0].height > l.room() && !l.atTop() {
			l.newPage()
			continue
		}
		for i, column := range columnsOf(items[:n], c.columns) {
			l.putStack(column, l.left+float64(i)*(width+columnGap), l.y)
		}
		l.y += checklistHeight(items[:n], c.columns)
		if items = items[n:]; len(items) > 0 {
			l.newPage()
		}
	}
	l.y += 1.5
}

func (l *layout) figure(f figure) {
	drawing := l.laidDrawing(f.drawing, l.width)
	caption := laidLines(f.caption.as(small), l.width, black)
	l.space(2)
	l.need(drawing.height + 1 + heightOf(caption))
	l.put(drawing.put(l.left, l.y)...)
	l.y += drawing.height + 1
	l.putStack(caption, l.left, l.y)
	l.y += heightOf(caption) + 2.5
}

func (l *layout) signatures(s signatures) {
	const above, below, gap = 14.0, 4.5, 6.0
	l.need(above + below)
	l.y += above
	w := (l.width - gap*float64(len(s.labels)-1)) / float64(len(s.labels))
	for i, label := range s.labels {
		x := l.left + float64(i)*(w+gap)
		l.put(lineOp(x, l.y, x+w, l.y, pen, black, false), textOp(x, l.y+3.6, label, 8, false, start, black))
	}
	l.y += below
}

// laidRow is a table's row: the stacks of its cells.
type laidRow struct {
	height float64
	cells  []laidCell
}

type laidCell struct {
	stack []laid
	x, w  float64
	box   bool
}

const (
	cellPadX = 1.2
	cellPadY = 1.0
	// boxHeight is room to write in by hand.
	boxHeight = 8.0
)

func (r *laidRow) measure() {
	r.height = 0
	for _, c := range r.cells {
		r.height = max(r.height, heightOf(c.stack)+2*cellPadY)
		if c.box {
			r.height = max(r.height, boxHeight)
		}
	}
}

// columnEdges are the left edges of a table's columns, and the right edge of the
// last.
func (l *layout) columnEdges(t table) []float64 {
	var total float64
	for _, c := range t.columns {
		total += c.width
	}
	edges := []float64{l.left}
	x := l.left
	for _, c := range t.columns {
		x += c.width / total * l.width
		edges = append(edges, x)
	}
	return edges
}

func (l *layout) tableHead(t table, continued bool) laidRow {
	edges := l.columnEdges(t)
	var r laidRow
	for i, c := range t.columns {
		w := edges[i+1] - edges[i]
		words := styled(atMost(c.head, small, 3, w-2*cellPadX), small)
		if c.place {
			words = text{{atMost(c.head, placeText, 3, w-2*cellPadX), placeText}}
			if continued {
				words = append(words, span{", continued", small})
			}
		}
		r.cells = append(r.cells, laidCell{stack: laidLines(words, w-2*cellPadX, black), x: edges[i], w: w})
	}
	r.measure()
	return r
}

func (l *layout) tableRows(t table) []laidRow {
	edges := l.columnEdges(t)
	out := make([]laidRow, len(t.rows))
	for i, r := range t.rows {
		at := 0
		for _, c := range r.cells {
			to := at + c.columns()
			lc := laidCell{x: edges[at], w: edges[to] - edges[at], box: c.box}
			inner := lc.w - 2*cellPadX
			lc.stack = l.laidParts(c.parts, inner, firstShare(t.columns[at:to])*lc.w)
			out[i].cells = append(out[i].cells, lc)
			at = to
		}
		out[i].measure()
	}
	return out
}

// laidParts stacks the parts of a cell of that inner width; the second column of
// a pair begins so far in.
func (l *layout) laidParts(parts []part, width, second float64) []laid {
	var out []laid
	for k, p := range parts {
		if k > 0 {
			out = append(out, laidGap(0.5))
		}
		out = append(out, l.laidPart(p, width, second)...)
	}
	return out
}

func (l *layout) laidPart(p part, width, second float64) []laid {
	switch p := p.(type) {
	case pair:
		left := l.laidParts(p.left, second-2*cellPadX, 0)
		right := l.laidParts(p.right, width-second, 0)
		return []laid{{max(heightOf(left), heightOf(right)), func(x, y float64) []op {
			var ops []op
			for i, stack := range [][]laid{left, right} {
				at := y
				for _, it := range stack {
					ops = append(ops, it.put(x+float64(i)*second, at)...)
					at += it.height
				}
			}
			return ops
		}}}
	case text:
		return laidLines(p, width, black)
	case *Drawing:
		d := l.laidDrawing(p, width)
		return []laid{{d.height + 0.8, func(x, y float64) []op { return d.put(x, y+0.4) }}}
	case ticks:
		var out []laid
		for _, t := range p {
			line := laidLines(styled(t.label, small), width-tickSize-1.2, black)
			h := max(heightOf(line), tickSize+0.8)
			out = append(out, laid{h, func(x, y float64) []op {
				ops := tickOps(x, y+0.3, t.ticked)
				for _, piece := range line {
					ops = append(ops, piece.put(x+tickSize+1.2, y+0.1)...)
					y += piece.height
				}
				return ops
			}})
		}
		return out
	}
	return nil
}

func (l *layout) table(t table) {
	if len(t.rows) == 0 {
		return
	}
	rows := l.tableRows(t)
	l.need(l.beginning([]block{t}))
	head := func(continued bool) {
		r := l.tableHead(t, continued)
		for _, c := range r.cells {
			// Heads stand on the line below them.
			l.putStack(c.stack, c.x+cellPadX, l.y+r.height-cellPadY-heightOf(c.stack))
		}
		l.y += r.height
		l.put(lineOp(l.left, l.y, l.left+l.width, l.y, 0.4, black, false))
	}
	head(false)
	for i, r := range rows {
		for r.height > l.room()+1e-6 {
			headHeight := l.tableHead(t, true).height
			if r.height <= l.pageRoom()-headHeight {
				l.newPage()
				head(true)
				break
			}
			// Higher than a page: as much as fits, then on.
			if l.room() < 20 {
				l.newPage()
				head(true)
			}
			first, rest := r.split(l.room())
			l.tableRow(first, false)
			l.newPage()
			head(true)
			r = rest
		}
		l.tableRow(r, i == len(rows)-1)
	}
	l.y += 3
}

// split cuts a row that is higher than a page.
func (r laidRow) split(height float64) (first, rest laidRow) {
	for _, c := range r.cells {
		head, tail := fitting(c.stack, height-2*cellPadY)
		a, b := c, c
		a.stack, b.stack = head, slices.Clone(tail)
		first.cells, rest.cells = append(first.cells, a), append(rest.cells, b)
	}
	first.measure()
	rest.measure()
	return first, rest
}

func (l *layout) tableRow(r laidRow, last bool) {
	for i, c := range r.cells {
		l.putStack(c.stack, c.x+cellPadX, l.y+cellPadY)
		if c.box {
			l.put(lineOp(c.x, l.y, c.x, l.y+r.height, thinPen, grey, false))
			if i == len(r.cells)-1 {
				l.put(lineOp(c.x+c.w, l.y, c.x+c.w, l.y+r.height, thinPen, grey, false))
			}
		}
	}
	l.y += r.height
	colour := grey
	if last {
		colour = black
	}
	l.put(lineOp(l.left, l.y, l.left+l.width, l.y, thinPen, colour, false))
}

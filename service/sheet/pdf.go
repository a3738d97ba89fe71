package sheet

import (
	"bytes"
	"fmt"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// PDF renders the sheet as a PDF file. The same sheet gives the same bytes. The
// error is one of the PDF writer's own and is not expected.
func (s *Sheet) PDF() ([]byte, error) {
	l := newLayout(s)
	l.sheet()
	return l.write()
}

// write puts the laid-out pages into a file.
func (l *layout) write() ([]byte, error) {
	f := fpdf.NewCustom(&fpdf.InitType{
		OrientationStr: "P",
		UnitStr:        "mm",
		Size:           fpdf.SizeType{Wd: l.pageWidth, Ht: l.pageHeight},
	})
	made := l.s.opt.Made
	if made.IsZero() {
		made = time.Unix(0, 0) // the writer would take the clock's
	}
	f.SetCreationDate(made.UTC())
	f.SetModificationDate(made.UTC())
	f.SetCatalogSort(true)
	f.SetCompression(true)
	f.SetTitle(l.s.Title(), true)
	f.SetCreator("snapgauge", true)
	f.SetLang("en")
	f.SetDisplayMode("fullwidth", "continuous")
	f.SetAutoPageBreak(false, 0)
	f.SetMargins(0, 0, 0)
	f.AddUTF8FontFromBytes(fontFamily, "", faceFor(false).data)
	f.AddUTF8FontFromBytes(fontFamily, "B", faceFor(true).data)
	f.SetLineJoinStyle("round")
	for n, page := range l.pages {
		f.AddPage()
		l.frame(&page, n+1, len(l.pages))
		for _, op := range page {
			op(f)
		}
	}
	var out bytes.Buffer
	if err := f.Output(&out); err != nil {
		return nil, fmt.Errorf("sheet: %w", err)
	}
	return out.Bytes(), nil
}

const fontFamily = "go"

// op is one thing put on a page. Each sets all that it depends on.
type op func(*fpdf.Fpdf)

// frame adds what is repeated on each page: machine and VIN above, origin and
// page number below.
func (l *layout) frame(page *[]op, n, of int) {
	put := func(x, y float64, s string, points float64, bold bool, a anchor) {
		*page = append(*page, textOp(x, y, s, points, bold, a, black))
	}
	right := l.left + l.width
	y := l.top - 4
	vin := l.s.vinLine()
	put(right, y, vin, 8, false, end)
	room := l.width - textWidth(vin, 8, false) - 6
	put(l.left, y, ellipsis(l.s.machine, 8, true, room), 8, true, start)
	*page = append(*page, lineOp(l.left, l.top-2.4, right, l.top-2.4, thinPen, black, false))

	y = l.bottom + 5.5
	number := fmt.Sprintf("page %d of %d", n, of)
	put(right, y, number, 7.5, false, end)
	room = l.width - textWidth(number, 7.5, false) - 6
	put(l.left, y, ellipsis(l.s.footLine(), 7.5, false, room), 7.5, false, start)
}

func textOp(x, y float64, s string, points float64, bold bool, a anchor, colour ink) op {
	s = faceFor(bold).printable(s)
	switch a {
	case middle:
		x -= textWidth(s, points, bold) / 2
	case end:
		x -= textWidth(s, points, bold)
	}
	return func(f *fpdf.Fpdf) {
		weight := ""
		if bold {
			weight = "B"
		}
		f.SetFont(fontFamily, weight, points)
		r, g, b := colour.rgb()
		f.SetTextColor(r, g, b)
		f.Text(x, y, s)
	}
}

func lineOp(x1, y1, x2, y2, width float64, colour ink, dashed bool) op {
	return func(f *fpdf.Fpdf) {
		setPen(f, width, colour, dashed)
		f.Line(x1, y1, x2, y2)
	}
}

func rectOp(x, y, w, h, width float64, stroke, fill ink) op {
	it := item{shape: polygonShape, points: []point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, pen: width, stroke: stroke, fill: fill}
	return func(f *fpdf.Fpdf) { it.pdf(f, 0, 0) }
}

func setPen(f *fpdf.Fpdf, width float64, colour ink, dashed bool) {
	r, g, b := colour.rgb()
	f.SetDrawColor(r, g, b)
	f.SetLineWidth(width)
	if dashed {
		f.SetDashPattern([]float64{1.2, 0.8}, 0)
	} else {
		f.SetDashPattern(nil, 0)
	}
}

// pdf draws an item with the drawing's corner at (x, y).
func (it *item) pdf(f *fpdf.Fpdf, x, y float64) {
	p := it.points
	if it.shape == textShape {
		textOp(x+p[0].x, y+p[0].y, it.text, it.size, it.bold, it.anchor, it.fill)(f)
		return
	}
	style := ""
	if it.fill != none && it.shape != lineShape {
		r, g, b := it.fill.rgb()
		f.SetFillColor(r, g, b)
		style = "F"
	}
	if it.stroke != none && it.pen > 0 {
		setPen(f, it.pen, it.stroke, it.dashed)
		style += "D"
	}
	if style == "" {
		return
	}
	switch it.shape {
	case lineShape:
		f.Line(x+p[0].x, y+p[0].y, x+p[1].x, y+p[1].y)
	case polygonShape:
		pts := make([]fpdf.PointType, len(p))
		for i, q := range p {
			pts[i] = fpdf.PointType{X: x + q.x, Y: y + q.y}
		}
		f.Polygon(pts, style)
	case circleShape:
		f.Circle(x+p[0].x, y+p[0].y, it.radius, style)
	}
}

func (i ink) rgb() (r, g, b int) {
	switch i {
	case grey:
		return 0x5a, 0x5a, 0x5a
	case tint:
		return 0xdc, 0xdc, 0xdc
	case paper:
		return 0xff, 0xff, 0xff
	}
	return 0, 0, 0
}

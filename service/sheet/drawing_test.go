package sheet

import (
	"math"
	"testing"

	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

func measured(lower, upper, nominal *float64) subject {
	s, ok := subjectOf(&pb.Characteristic{
		DisplayName: "Play",
		Limits:      &pb.Limits{Lower: lower, Upper: upper, Nominal: nominal, Unit: "mm"},
	}, quantity.Metric)
	if !ok {
		panic("no subject")
	}
	return s
}

// at finds the item that stands for a value.
func (d *Drawing) at(role string) *item {
	for i := range d.items {
		if d.items[i].role == role {
			return &d.items[i]
		}
	}
	return nil
}

// centre is the place that an item stands at: the middle of its extent along x,
// which for every mark is the value's own.
func (it *item) centre() point {
	lo, hi := it.points[0], it.points[0]
	for _, p := range it.points {
		lo = point{min(lo.x, p.x), min(lo.y, p.y)}
		hi = point{max(hi.x, p.x), max(hi.y, p.y)}
	}
	return point{(lo.x + hi.x) / 2, (lo.y + hi.y) / 2}
}

// x is where an item's value stands.
func (it *item) x() float64 { return it.centre().x }

// within checks that everything of a drawing lies on it.
func within(t *rapid.T, d *Drawing) {
	for _, it := range d.items {
		for _, p := range it.points {
			if !(p.x >= -0.01 && p.x <= d.width+0.01 && p.y >= -0.01 && p.y <= d.height+0.01) {
				t.Fatalf("%+v lies outside %g by %g", it, d.width, d.height)
			}
		}
		if it.shape == textShape {
			w := textWidth(it.text, it.size, it.bold)
			x := it.points[0].x
			switch it.anchor {
			case middle:
				x -= w / 2
			case end:
				x -= w
			}
			if x < -0.3 || x+w > d.width+0.3 {
				t.Fatalf("the text %q from %g to %g leaves the width %g", it.text, x, x+w, d.width)
			}
		}
	}
}

// A mark stands where its value says: in proportion to the limits, whatever the
// limits are, and is round inside them and not outside.
func TestLimitBarIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lower := rapid.Float64Range(-1e4, 1e4).Draw(t, "lower")
		width := rapid.Float64Range(1e-3, 1e4).Draw(t, "width")
		upper := lower + width
		nominal := lower + width*rapid.Float64Range(0.01, 0.99).Draw(t, "nominal")
		value := lower + width*rapid.Float64Range(-1.4, 2.4).Draw(t, "value")
		found := lower + width*rapid.Float64Range(-4, 5).Draw(t, "found")
		s := measured(&lower, &upper, &nominal)
		d := limitBar(s, readingOf(found), reading{value: value, known: true, expanded: width * 0.1}, 50)
		within(t, d)
		lo, hi := d.at(roleLower).x(), d.at(roleUpper).x()
		if hi-lo < 10 {
			t.Fatalf("the limits are only %g mm apart", hi-lo)
		}
		check := func(role string, v float64) {
			it := d.at(role)
			if want := lo + (v-lower)/width*(hi-lo); math.Abs(it.x()-want) > 1e-6 {
				t.Fatalf("%s of %g stands at %g, wanted %g", role, v, it.x(), want)
			}
		}
		check(roleNominal, nominal)
		check(roleLeft, value)
		if (d.at(roleLeft).shape == circleShape) != s.contains(value) {
			t.Fatal("the shape does not say whether it is inside")
		}
		if mark := d.at(roleFound); mark != nil {
			check(roleFound, found)
		} else if beyond := d.at(roleFound + "-beyond"); beyond == nil {
			t.Fatal("the reading as found is not drawn")
		} else if beyond.x() > lo && beyond.x() < hi {
			t.Fatal("a reading beyond the scale is drawn between the limits")
		}
	})
}

// With one limit the other end is open and all readings are drawn.
func TestLimitBarOpen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Float64Range(-100, 100).Draw(t, "limit")
		value := rapid.Float64Range(-300, 300).Draw(t, "value")
		var s subject
		var role string
		if rapid.Bool().Draw(t, "upper") {
			s, role = measured(nil, &limit, nil), roleUpper
		} else {
			s, role = measured(&limit, nil, nil), roleLower
		}
		d := limitBar(s, reading{}, readingOf(value), 50)
		within(t, d)
		jaw := d.at(role).x()
		mark := d.at(roleLeft)
		if mark == nil {
			mark = d.at(roleLeft + "-beyond")
		}
		if mark == nil {
			t.Fatal("no mark")
		}
		if value > limit && mark.x() < jaw || value < limit && mark.x() > jaw {
			t.Fatalf("%g stands on the wrong side of %g", value, limit)
		}
		if (mark.shape == circleShape) != s.contains(value) {
			t.Fatal("the shape does not say whether it is inside")
		}
	})
}

func TestLimitBarOfNothing(t *testing.T) {
	same := 3.0
	for _, s := range []subject{measured(nil, nil, nil), measured(&same, &same, nil)} {
		if limitBar(s, reading{}, readingOf(3), 50) != nil {
			t.Error("a bar without a range")
		}
	}
}

func TestAdjusterIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]string{"circ", "{click}"}).Draw(t, "unit")
		travel := rapid.Float64Range(1, 60).Draw(t, "travel")
		lower := travel * rapid.Float64Range(0, 0.4).Draw(t, "lower")
		upper := travel * rapid.Float64Range(0.5, 1).Draw(t, "upper")
		mechanical := &pb.Interval{Lower: proto.Float64(0)}
		if rapid.Bool().Draw(t, "stops") {
			mechanical.Upper = &travel
		}
		c := &pb.Characteristic{
			DisplayName: "Screw",
			Limits:      &pb.Limits{Lower: &lower, Upper: &upper, Unit: unit},
			Kind: &pb.Characteristic_Adjuster{Adjuster: &pb.Adjuster{
				ReferencePosition: rapid.StringMatching(`[a-z ]{1,120}`).Draw(t, "reference"),
				MechanicalRange:   mechanical,
			}},
		}
		left := rapid.Float64Range(-0.2, 1.3).Draw(t, "left") * travel
		found := rapid.Float64Range(-0.2, 1.3).Draw(t, "found") * travel
		d := adjusterScale(c, readingOf(found), readingOf(left), 56, quantity.Metric)
		within(t, d)
		lo, hi := d.at(roleLower).x(), d.at(roleUpper).x()
		for role, v := range map[string]float64{roleLeft: left, roleFound: found} {
			want := lo + (v-lower)/(upper-lower)*(hi-lo)
			mark := d.at(role)
			if mark == nil {
				if mark = d.at(role + "-beyond"); v >= 0 && v <= upper || mark == nil {
					t.Fatalf("%s of %g is not drawn in proportion", role, v)
				}
				continue
			}
			if math.Abs(mark.x()-want) > 1e-6 {
				t.Fatalf("%s at %g, wanted %g", role, mark.x(), want)
			}
			if (mark.shape == circleShape) != (v >= lower && v <= upper) {
				t.Fatal("the shape does not say whether it is permitted")
			}
		}
		for role, fill := range map[string]ink{roleFound: paper, roleLeft: black} {
			if mark := d.at(role); mark != nil && mark.fill != fill {
				t.Fatal("as found is not open, or as left not filled")
			}
		}
	})
}

func tankFixture(t testing.TB, id string) *tank {
	t.Helper()
	for _, c := range probe(t, quantity.Metric).resolved.Characteristics {
		if c.GetId() == id {
			tk, ok := tankOf(c, quantity.Metric)
			if !ok {
				t.Fatalf("%s has no tank", id)
			}
			return tk
		}
	}
	t.Fatalf("no %s", id)
	return nil
}

// area of a polygon, by the shoelace formula.
func area(pts []point) float64 {
	var twice float64
	for i, a := range pts {
		b := pts[(i+1)%len(pts)]
		twice += a.x*b.y - b.x*a.y
	}
	return math.Abs(twice) / 2
}

// The liquid that is drawn is the liquid that is there: its area times the tank's
// length is its volume, upright and leaning.
func TestTankLevels(t *testing.T) {
	tk := tankFixture(t, "oil_tank_fill")
	const length = 80.0
	whole := tk.container.Volume()
	rapid.Check(t, func(t *rapid.T) {
		ml := rapid.Float64Range(1, whole).Draw(t, "ml")
		lean := rapid.SampledFrom([]float64{0, tk.lean, 30}).Draw(t, "lean")
		p := tk.pose(lean)
		level, err := tk.container.LevelFor(ml, p.at)
		if err != nil {
			t.Fatal(err)
		}
		if got := area(below(p.outline, level)) * length / 1000; math.Abs(got-ml) > 1e-6*whole {
			t.Fatalf("%g mL are drawn as %g mL", ml, got)
		}
	})
}

// In both poses fuller stands higher, and every surface lies inside the drawing.
func TestTankDrawing(t *testing.T) {
	for _, id := range []string{"oil_tank_fill", "gearbox_oil"} {
		tk := tankFixture(t, id)
		rapid.Check(t, func(t *rapid.T) {
			found := rapid.Float64Range(0, 2000).Draw(t, "found")
			left := rapid.Float64Range(0, 2000).Draw(t, "left")
			width := rapid.SampledFrom([]float64{93, 150}).Draw(t, "width")
			d := tk.draw(readingOf(found), readingOf(left), width)
			within(t, d)
			f, l := d.at(roleFound), d.at(roleLeft)
			if f == nil || l == nil {
				t.Fatal("a surface is missing")
			}
			if found > left && f.points[0].y > l.points[0].y+1e-9 {
				t.Fatalf("%g mL stand below %g mL", found, left)
			}
		})
	}
}

// A tank without a shape floods at its safe fill.
func TestSchematicTank(t *testing.T) {
	tk := tankFixture(t, "gearbox_oil")
	if !tk.schematic {
		t.Fatal("it has a shape")
	}
	if got := tk.floods(); math.Abs(got-800) > 1e-6 {
		t.Errorf("it floods at %g mL, wanted 800", got)
	}
	if _, ok := tankOf(&pb.Characteristic{
		Limits: &pb.Limits{Unit: "mL", Upper: proto.Float64(5)},
		Kind:   &pb.Characteristic_Capacity{Capacity: &pb.Capacity{Fluid: "oil"}},
	}, quantity.Metric); ok {
		t.Error("a tank of which nothing is known is drawn")
	}
}

// A tank of several sections is drawn at its neck.
func TestSectionAtNeck(t *testing.T) {
	square := func(half float64) workshop.Polygon {
		return workshop.Polygon{{Y: -half, Z: 0}, {Y: half, Z: 0}, {Y: half, Z: 10}, {Y: -half, Z: 10}}
	}
	sections := []workshop.Slice{{XMM: 0, Outline: square(10)}, {XMM: 100, Outline: square(30)}}
	for x, half := range map[float64]float64{-5: 10, 0: 10, 25: 15, 100: 30, 120: 30} {
		if got := sectionAt(sections, x)[1].Y; math.Abs(got-half) > 1e-9 {
			t.Errorf("at %g it is %g wide, wanted %g", x, got, half)
		}
	}
}

// Hatching stays inside its area.
func TestHatch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.Float64Range(1, 40).Draw(t, "w"), rapid.Float64Range(1, 40).Draw(t, "h")
		d := newDrawing(50, 50, "")
		d.hatch([]point{{0, 0}, {w, 0}, {w, h}, {0, h}}, 1.3, thinPen)
		for _, it := range d.items {
			for _, p := range it.points {
				if p.x < -1e-9 || p.x > w+1e-9 || p.y < -1e-9 || p.y > h+1e-9 {
					t.Fatalf("%v lies outside %g by %g", p, w, h)
				}
			}
		}
		if w+h > 4 && len(d.items) == 0 {
			t.Fatal("nothing is hatched")
		}
	})
}

func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SliceOfN(rapid.Float64Range(0, 50), 0, 6).Draw(t, "at")
		got := spread(at, 3, 0, 50)
		for i := range got {
			if got[i] < -1e-9 || got[i] > 50+1e-9 {
				t.Fatalf("%v leaves 0 to 50", got)
			}
			for k := range got {
				if i != k && math.Abs(got[i]-got[k]) < 3-1e-9 {
					t.Fatalf("%v come too near", got)
				}
				if at[i] < at[k] && got[i] > got[k] {
					t.Fatalf("%v became %v", at, got)
				}
			}
		}
	})
}

// Lines are never wider than asked for, and no word is lost.
func TestTypeset(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.StringMatching(`[a-zA-Z0-9·½,.]{1,60}`), 1, 20).Draw(t, "words")
		width := rapid.Float64Range(12, 120).Draw(t, "width")
		var in text
		var want string
		for i, w := range words {
			in = append(in, span{w + " ", style(i % 6)})
			want += w
		}
		var got string
		for _, line := range typeset(in, width) {
			for _, r := range line.runs {
				for _, c := range r.text {
					if c != ' ' {
						got += string(c)
					}
				}
			}
			last := line.runs[len(line.runs)-1]
			if e := last.x + textWidth(trimSpace(last.text), last.style.points(), last.style.bold()); e > width+1e-6 {
				t.Fatalf("a line is %g wide, wanted %g", e, width)
			}
		}
		if got != want {
			t.Fatalf("got %q, want %q", got, want)
		}
	})
}

func trimSpace(s string) string {
	for len(s) > 0 && s[len(s)-1] == ' ' {
		s = s[:len(s)-1]
	}
	return s
}

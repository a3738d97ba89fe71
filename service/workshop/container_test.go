package workshop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// box returns a box centred on y = 0 and x = 0 with its floor at z = 0.
func box(t failer, length, width, height float64) *Container {
	t.Helper()
	outline := Polygon{{-width / 2, 0}, {width / 2, 0}, {width / 2, height}, {-width / 2, height}}
	c, err := NewContainer([]Slice{{-length / 2, outline}, {length / 2, outline}})
	noErr(t, err)
	return c
}

func tan(deg float64) float64 { return math.Tan(deg * math.Pi / 180) }
func sin(deg float64) float64 { return math.Sin(deg * math.Pi / 180) }
func cos(deg float64) float64 { return math.Cos(deg * math.Pi / 180) }

func TestContainerPublished(t *testing.T) {
	const closed = "closed form"
	b := box(t, 200, 120, 100) // 2400 ml
	check(t, PublishedCheck{Function: "NewContainer", Case: "box 200 × 120 × 100 mm", Source: closed, Where: "l·w·h", Want: 2400, Got: b.Volume(), Tolerance: 1e-9, Unit: "ml"})
	check(t, PublishedCheck{Function: "Container.Volume", Case: "box 200 × 120 × 100 mm", Source: closed, Where: "l·w·h", Want: 2400, Got: b.Volume(), Tolerance: 1e-9, Unit: "ml"})

	area, err := Polygon{{0, 0}, {4, 0}, {4, 3}, {2, 1}, {0, 3}}.Area()
	noErr(t, err)
	check(t, PublishedCheck{Function: "Polygon.Area", Case: "4 × 3 rectangle with a notch 4 wide and 2 deep", Source: closed, Where: "12-4", Want: 8, Got: area, Tolerance: 1e-12, Unit: "mm²"})

	// A frustum of a square pyramid, sides 100 and 50, along x.
	square := func(a float64) Polygon { return Polygon{{-a, -a}, {a, -a}, {a, a}, {-a, a}} }
	frustum, err := NewContainer([]Slice{{0, square(50)}, {300, square(25)}})
	noErr(t, err)
	check(t, PublishedCheck{Function: "NewContainer", Case: "frustum of a square pyramid, sides 100 and 50, length 300 mm", Source: closed, Where: "L/3·(A₁+A₂+√(A₁A₂))", Want: 1750, Got: frustum.Volume(), Tolerance: 1e-9, Unit: "ml"})

	v, err := frustum.VolumeBelow(0, Attitude{LeanDeg: 45})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.VolumeBelow", Case: "the same, level through its axis at any lean: half", Source: closed, Want: 875, Got: v, Tolerance: 1e-9, Unit: "ml"})

	// The same frustum standing on its large end would need pitch 90°: the level
	// plane is then a cross-section.
	v, err = frustum.VolumeBelow(150, Attitude{PitchDeg: 90})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.VolumeBelow", Case: "the same stood on end, filled to half its length", Source: closed, Where: "L/3·(A₁+A₂+√(A₁A₂)), sides 100 and 75", Want: 1156.25, Got: v, Tolerance: 1e-6, Unit: "ml"})

	// A corner of a box under both angles: a tetrahedron.
	at := Attitude{LeanDeg: 20, PitchDeg: 35}
	up, err := at.up()
	noErr(t, err)
	lowest, _ := b.extent(up)
	v, err = b.VolumeBelow(lowest+30, at)
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.VolumeBelow", Case: "corner of a box at lean 20°, pitch 35°, level 30 mm over the corner", Source: closed, Where: "tetrahedron h³/(6·|n_x·n_y·n_z|)", Want: 30 * 30 * 30 / (6 * sin(35) * sin(20) * cos(35) * cos(20) * cos(35)) / 1000, Got: v, Tolerance: 1e-9, Unit: "ml"})

	// Cylinder on its side.
	circle, err := CircleOutline(200, 360)
	noErr(t, err)
	circleArea, err := circle.Area()
	noErr(t, err)
	check(t, PublishedCheck{Function: "CircleOutline", Case: "area of the 360-gon for diameter 200", Source: closed, Where: "π·d²/4", Want: math.Pi * 1e4, Got: circleArea, Tolerance: 1e-6, Unit: "mm²"})
	seg, err := HorizontalCylinderVolume(200, 300, 100)
	noErr(t, err)
	check(t, PublishedCheck{Function: "HorizontalCylinderVolume", Case: "half full, diameter 200, length 300 mm", Source: closed, Where: "π·d²/8·l", Want: 1.5 * math.Pi * 1000, Got: seg, Tolerance: 1e-9, Unit: "ml"})
	seg, err = HorizontalCylinderVolume(200, 300, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "HorizontalCylinderVolume", Case: "level at a quarter of the diameter", Source: closed, Where: "r²·(π/3-√3/4)·l", Want: 1e4 * (math.Pi/3 - math.Sqrt(3)/4) * 0.3, Got: seg, Tolerance: 1e-9, Unit: "ml"})
	cyl, err := NewPrism(circle, 300)
	noErr(t, err)
	check(t, PublishedCheck{Function: "NewPrism", Case: "cylinder, diameter 200, length 300 mm", Source: closed, Where: "π·d²/4·l", Want: 3 * math.Pi * 1000, Got: cyl.Volume(), Tolerance: 1e-6, Unit: "ml"})
	v, err = cyl.VolumeBelow(-50, Attitude{LeanDeg: 33})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.VolumeBelow", Case: "cylinder lying down (360-gon) at lean 33°, level at a quarter", Source: closed, Where: "circular segment", Want: seg, Got: v, Tolerance: 0.2, Unit: "ml"})
	level, err := cyl.LevelFor(seg, Attitude{LeanDeg: -12})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.LevelFor", Case: "the same, back to the level", Source: closed, Where: "circular segment", Want: -50, Got: level, Tolerance: 0.01, Unit: "mm"})
	// Pitched, the liquid at the end is Archimedes' hoof: 2/3·r²·length.
	v, err = cyl.VolumeBelow(0, Attitude{PitchDeg: 30})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.VolumeBelow", Case: "cylinder pitched 30°, level through the diameter of its end", Source: "Archimedes, The Method, proposition 11 (cylindrical hoof)", Where: "2/3·r²·r/tan 30°", Want: 2.0 / 3 * 1e6 / tan(30) / 1000, Got: v, Tolerance: 0.05, Unit: "ml"})

	// A box with its neck's lip at the upper left edge, leaned to the left.
	edge := Neck{Lip: Point{0, 60, 100}}
	v, err = b.FloodVolume(edge, Attitude{LeanDeg: 12})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.FloodVolume", Case: "box 200 × 120 × 100, lip at the upper left edge, lean 12° left", Source: closed, Where: "wedge: l·(w·h-w²·tan a/2)", Want: 0.2 * (12000 - 7200*tan(12)), Got: v, Tolerance: 1e-9, Unit: "ml"})
	v, err = b.FloodVolume(Neck{Lip: Point{-100, 0, 100}}, Attitude{PitchDeg: 12})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.FloodVolume", Case: "the same, lip at the upper rear edge, front up 12°", Source: closed, Where: "wedge: w·(l·h-l²·tan a/2)", Want: 0.12 * (20000 - 20000*tan(12)), Got: v, Tolerance: 1e-9, Unit: "ml"})
	v, err = b.FloodVolume(Neck{Lip: Point{0, 0, 100}, RadiusMM: 20}, Attitude{LeanDeg: 12})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.FloodVolume", Case: "the same, neck of radius 20 in the middle, lean 12° left", Source: closed, Where: "level at the lip's low side z = 100-20·tan a, less the air wedge above it on the right", Want: 0.2 * (12000 - 0.5*80*80*tan(12)), Got: v, Tolerance: 1e-9, Unit: "ml"})

	safe, err := b.LargestSafeFill(edge, []Attitude{{}, {LeanDeg: 12}, {PitchDeg: 5}}, Margin{ML: 50})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.LargestSafeFill", Case: "upright, lean 12° left, front up 5°; margin 50 ml", Source: closed, Where: "wedge at 12° less 50", Want: 0.2*(12000-7200*tan(12)) - 50, Got: safe.VolumeML, Tolerance: 1e-9, Unit: "ml"})
	if safe.Governing != 1 {
		t.Errorf("governing attitude %d, want 1", safe.Governing)
	}
	safe, err = b.LargestSafeFill(Neck{Lip: Point{0, 0, 100}}, []Attitude{{}}, Margin{MM: 10})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.LargestSafeFill", Case: "upright, 10 mm below the lip", Source: closed, Where: "l·w·(h-10)", Want: 2160, Got: safe.VolumeML, Tolerance: 1e-9, Unit: "ml"})

	free, err := b.Freeboard(edge, 1200, Attitude{LeanDeg: 12})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.Freeboard", Case: "box half full, lip at the upper left edge, lean 12° left", Source: closed, Where: "surface through the centre: (h/2)·cos a-(w/2)·sin a", Want: 50*cos(12) - 60*sin(12), Got: free, Tolerance: 1e-9, Unit: "mm"})
	depth, err := b.DepthAt(Point{0, -60, 0}, 1200, Attitude{LeanDeg: 12})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.DepthAt", Case: "box half full, lower right edge, lean 12° left", Source: closed, Where: "(h/2)·cos a-(w/2)·sin a", Want: 50*cos(12) - 60*sin(12), Got: depth, Tolerance: 1e-9, Unit: "mm"})

	// A V-shaped tank: volume over the pick-up is a difference of similar triangles.
	vee, err := NewPrism(Polygon{{0, 0}, {100, 100}, {-100, 100}}, 250)
	noErr(t, err)
	u, err := vee.UsableAbove(Point{100, 0, 20}, 900, Attitude{})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.UsableAbove", Case: "90° V tank, length 250, filled 60 mm deep, pick-up at 20 mm", Source: closed, Where: "l·(60²-20²)", Want: 800, Got: u, Tolerance: 1e-9, Unit: "ml"})
	fill, err := vee.FillForUsable(Point{100, 0, 20}, 800, Attitude{})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.FillForUsable", Case: "the same, back", Source: closed, Where: "l·60²", Want: 900, Got: fill, Tolerance: 1e-9, Unit: "ml"})
	split, err := vee.SplitFuel(Point{100, 0, 40}, Point{100, 0, 20}, 900, Attitude{})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.SplitFuel", Case: "the same, main pick-up at 40 mm: reserve", Source: closed, Where: "l·(40²-20²)", Want: 300, Got: split.ReserveML, Tolerance: 1e-9, Unit: "ml"})
	check(t, PublishedCheck{Function: "Container.SplitFuel", Case: "the same: main", Source: closed, Where: "l·(60²-40²)", Want: 500, Got: split.MainML, Tolerance: 1e-9, Unit: "ml"})
	level, err = vee.LevelFor(900, Attitude{LeanDeg: 0})
	noErr(t, err)
	check(t, PublishedCheck{Function: "Container.LevelFor", Case: "90° V tank, length 250, 900 ml", Source: closed, Where: "√(V/l)", Want: 60, Got: level, Tolerance: 1e-8, Unit: "mm"})
}

// drawContainer makes containers of all kinds: convex or not, alike or tapered
// sections, skewed.
func drawContainer(t *rapid.T) *Container {
	corners := rapid.IntRange(3, 12).Draw(t, "corners")
	sections := rapid.IntRange(2, 4).Draw(t, "sections")
	radii := make([]float64, corners)
	for i := range radii {
		radii[i] = rapid.Float64Range(20, 150).Draw(t, "radius")
	}
	var list []Slice
	x := rapid.Float64Range(-200, 200).Draw(t, "x")
	for range sections {
		scale := rapid.Float64Range(0.3, 1.5).Draw(t, "scale")
		dy := rapid.Float64Range(-40, 40).Draw(t, "dy")
		dz := rapid.Float64Range(-40, 40).Draw(t, "dz")
		outline := make(Polygon, corners)
		for i := range outline {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(corners))
			outline[i] = YZ{dy + scale*radii[i]*c, dz + scale*radii[i]*s}
		}
		list = append(list, Slice{x, outline})
		x += rapid.Float64Range(5, 300).Draw(t, "dx")
	}
	c, err := NewContainer(list)
	noErr(t, err)
	return c
}

func drawAttitude(t *rapid.T) Attitude {
	return Attitude{
		LeanDeg:  rapid.Float64Range(-90, 90).Draw(t, "lean"),
		PitchDeg: rapid.Float64Range(-90, 90).Draw(t, "pitch"),
	}
}

func TestContainerMonotoneAndInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, at := drawContainer(t), drawAttitude(t)
		up, err := at.up()
		noErr(t, err)
		lo, hi := c.extent(up)
		full := c.Volume()

		if v, _ := c.VolumeBelow(lo, at); v > 1e-9*full {
			t.Fatalf("%v ml below the lowest corner", v)
		}
		if v, _ := c.VolumeBelow(hi, at); math.Abs(v-full) > 1e-7*full {
			t.Fatalf("%v ml below the highest corner of %v", v, full)
		}
		before := 0.0
		for i := 1; i <= 20; i++ {
			v, err := c.VolumeBelow(lo+(hi-lo)*float64(i)/20, at)
			noErr(t, err)
			if v < before-1e-7*full {
				t.Fatalf("falls from %v to %v ml as the level rises", before, v)
			}
			before = v
		}

		share := rapid.Float64Range(0, 1).Draw(t, "share")
		level, err := c.LevelFor(share*full, at)
		noErr(t, err)
		back, err := c.VolumeBelow(level, at)
		noErr(t, err)
		if math.Abs(back-share*full) > 1e-9*full {
			t.Fatalf("%v ml, level %v, back %v ml", share*full, level, back)
		}
	})
}

// What lies below a level and what lies below it with everything upside down
// make up the whole.
func TestContainerConservation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, at := drawContainer(t), drawAttitude(t)
		up, err := at.up()
		noErr(t, err)
		lo, hi := c.extent(up)
		level := lo + (hi-lo)*rapid.Float64Range(0, 1).Draw(t, "level")
		below := c.below(level, up)
		above := c.below(-level, Point{-up.X, -up.Y, -up.Z})
		if math.Abs(below+above-c.total) > 1e-6*c.total {
			t.Fatalf("%v + %v is not %v", below, above, c.total)
		}
	})
}

// More sections on the same straight sides are the same solid: the stated
// accuracy of the integral.
func TestContainerAccuracy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, at := drawContainer(t), drawAttitude(t)
		up, err := at.up()
		noErr(t, err)
		lo, hi := c.extent(up)
		level := lo + (hi-lo)*rapid.Float64Range(0, 1).Draw(t, "level")
		var fine []Slice
		const parts = 16
		for i := 0; i+1 < len(c.slices); i++ {
			p, q := c.slices[i], c.slices[i+1]
			for k := range parts {
				s := float64(k) / parts
				fine = append(fine, Slice{p.XMM + (q.XMM-p.XMM)*s, between(p.Outline, q.Outline, s)})
			}
		}
		fine = append(fine, c.slices[len(c.slices)-1])
		f, err := NewContainer(fine)
		noErr(t, err)
		coarse, reference := c.below(level, up), f.below(level, up)
		if math.Abs(coarse-reference) > 1e-6*c.total {
			t.Fatalf("%v, in %d parts %v: relative %g", coarse, parts, reference, (coarse-reference)/c.total)
		}
	})
}

func TestContainerSymmetricLean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Symmetric about y = 0.
		w := rapid.Float64Range(20, 200).Draw(t, "width")
		top := rapid.Float64Range(10, 200).Draw(t, "top")
		h := rapid.Float64Range(20, 200).Draw(t, "height")
		scale := rapid.Float64Range(0.3, 1).Draw(t, "taper")
		outline := func(k float64) Polygon { return Polygon{{-w * k, 0}, {w * k, 0}, {top * k, h}, {-top * k, h}} }
		c, err := NewContainer([]Slice{{0, outline(1)}, {150, outline(scale)}})
		noErr(t, err)
		at := drawAttitude(t)
		v := c.Volume() * rapid.Float64Range(0, 1).Draw(t, "share")
		left, err := c.LevelFor(v, at)
		noErr(t, err)
		right, err := c.LevelFor(v, Attitude{LeanDeg: -at.LeanDeg, PitchDeg: at.PitchDeg})
		noErr(t, err)
		if math.Abs(left-right) > 1e-6 {
			t.Fatalf("level %v leaned left, %v leaned right", left, right)
		}
		neck := Neck{Lip: Point{75, 0, h}, RadiusMM: 15}
		fl, err := c.FloodVolume(neck, at)
		noErr(t, err)
		fr, err := c.FloodVolume(neck, Attitude{LeanDeg: -at.LeanDeg, PitchDeg: at.PitchDeg})
		noErr(t, err)
		if math.Abs(fl-fr) > 1e-6*c.Volume() {
			t.Fatalf("floods at %v leaned left, %v leaned right", fl, fr)
		}
	})
}

func TestSafeFillDoesNotFlood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := box(t, 200, 120, 100)
		neck := Neck{
			Lip:      Point{rapid.Float64Range(-90, 90).Draw(t, "x"), rapid.Float64Range(-50, 50).Draw(t, "y"), rapid.Float64Range(80, 110).Draw(t, "z")},
			RadiusMM: rapid.Float64Range(0, 20).Draw(t, "radius"),
		}
		atts := []Attitude{
			{},
			{LeanDeg: rapid.Float64Range(-25, 25).Draw(t, "lean")},
			{LeanDeg: rapid.Float64Range(-15, 15).Draw(t, "lean2"), PitchDeg: rapid.Float64Range(-15, 15).Draw(t, "pitch")},
		}
		m := Margin{MM: rapid.Float64Range(0, 10).Draw(t, "mm"), ML: rapid.Float64Range(0, 50).Draw(t, "ml")}
		safe, err := c.LargestSafeFill(neck, atts, m)
		noErr(t, err)
		for _, at := range atts {
			free, err := c.Freeboard(neck, safe.VolumeML, at)
			noErr(t, err)
			if free < m.MM-1e-6 && c.Volume()-safe.VolumeML > 1e-6 {
				t.Fatalf("freeboard %v at %v, margin %v", free, at, m)
			}
		}
		// A little more breaks the margin where it governs, unless it is simply full.
		more := safe.VolumeML + m.ML + 1
		if more < c.Volume() {
			free, err := c.Freeboard(neck, more, atts[safe.Governing])
			noErr(t, err)
			if free > m.MM+1e-6 {
				t.Fatalf("room for more: freeboard %v, margin %v", free, m)
			}
		}
	})
}

func TestPickupProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, at := drawContainer(t), drawAttitude(t)
		up, err := at.up()
		noErr(t, err)
		lo, hi := c.extent(up)
		place := func(name string) Point {
			h := lo + (hi-lo)*rapid.Float64Range(0, 1).Draw(t, name)
			return Point{up.X * h, up.Y * h, up.Z * h}
		}
		main, reserve := place("main"), place("reserve")
		if up.dot(main) < up.dot(reserve) {
			main, reserve = reserve, main
		}
		v := c.Volume() * rapid.Float64Range(0, 1).Draw(t, "share")
		s, err := c.SplitFuel(main, reserve, v, at)
		noErr(t, err)
		if s.MainML < 0 || s.ReserveML < 0 || s.UnusableML < -1e-9 || math.Abs(s.MainML+s.ReserveML+s.UnusableML-v) > 1e-9*c.Volume() {
			t.Fatalf("%+v does not make up %v", s, v)
		}
		usable, err := c.UsableAbove(reserve, v, at)
		noErr(t, err)
		fill, err := c.FillForUsable(reserve, usable, at)
		noErr(t, err)
		back, err := c.UsableAbove(reserve, fill, at)
		noErr(t, err)
		if math.Abs(back-usable) > 1e-9*c.Volume() {
			t.Fatalf("usable %v, fill %v, usable %v", usable, fill, back)
		}
		depth, err := c.DepthAt(main, v, at)
		noErr(t, err)
		if s.MainML > 1e-6*c.Volume() && depth < -1e-6 {
			t.Fatalf("draws %v ml through a pick-up %v mm under air", s.MainML, depth)
		}
	})
}

func TestCylinderAgreesWithPolygon(t *testing.T) {
	circle, err := CircleOutline(140, 512)
	noErr(t, err)
	c, err := NewPrism(circle, 230)
	noErr(t, err)
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.Float64Range(0, 140).Draw(t, "level")
		want, err := HorizontalCylinderVolume(140, 230, level)
		noErr(t, err)
		got, err := c.VolumeBelow(level-70, Attitude{LeanDeg: rapid.Float64Range(-90, 90).Draw(t, "lean")})
		noErr(t, err)
		if math.Abs(got-want) > 1e-4*c.Volume() {
			t.Fatalf("%v, closed form %v", got, want)
		}
	})
}

func TestContainerRefuses(t *testing.T) {
	good := Polygon{{0, 0}, {10, 0}, {10, 10}, {0, 10}}
	c := box(t, 10, 10, 10)
	nan := math.NaN()
	for name, f := range map[string]func() error{
		"two corners":           func() error { _, err := NewPrism(Polygon{{0, 0}, {1, 1}}, 10); return err },
		"corners on one line":   func() error { _, err := NewPrism(Polygon{{0, 0}, {1, 1}, {2, 2}}, 10); return err },
		"bow tie":               func() error { _, err := NewPrism(Polygon{{0, 0}, {10, 10}, {12, 0}, {0, 10}}, 10); return err },
		"corner NaN":            func() error { _, err := NewPrism(Polygon{{0, 0}, {1, nan}, {2, 0}}, 10); return err },
		"too many corners":      func() error { _, err := NewPrism(make(Polygon, 2000), 10); return err },
		"length 0":              func() error { _, err := NewPrism(good, 0); return err },
		"area of a line":        func() error { _, err := Polygon{{0, 0}, {1, 1}, {2, 2}}.Area(); return err },
		"one section":           func() error { _, err := NewContainer([]Slice{{0, good}}); return err },
		"sections out of order": func() error { _, err := NewContainer([]Slice{{10, good}, {0, good}}); return err },
		"other corner count":    func() error { _, err := NewContainer([]Slice{{0, good}, {10, good[:3]}}); return err },
		"other direction": func() error {
			_, err := NewContainer([]Slice{{0, good}, {10, Polygon{good[3], good[2], good[1], good[0]}}})
			return err
		},
		"twisted by half a turn": func() error {
			_, err := NewContainer([]Slice{{0, good}, {10, Polygon{good[2], good[3], good[0], good[1]}}})
			return err
		},
		"volume above full":   func() error { _, err := c.LevelFor(1.1, Attitude{}); return err },
		"volume below 0":      func() error { _, err := c.LevelFor(-0.1, Attitude{}); return err },
		"volume NaN":          func() error { _, err := c.LevelFor(nan, Attitude{}); return err },
		"lean above 90":       func() error { _, err := c.VolumeBelow(1, Attitude{LeanDeg: 91}); return err },
		"pitch NaN":           func() error { _, err := c.VolumeBelow(1, Attitude{PitchDeg: nan}); return err },
		"level infinite":      func() error { _, err := c.VolumeBelow(inf, Attitude{}); return err },
		"neck radius below 0": func() error { _, err := c.FloodVolume(Neck{RadiusMM: -1}, Attitude{}); return err },
		"no attitude":         func() error { _, err := c.LargestSafeFill(Neck{}, nil, Margin{}); return err },
		"margin too large": func() error {
			_, err := c.LargestSafeFill(Neck{Lip: Point{0, 0, 10}}, []Attitude{{}}, Margin{ML: 1})
			return err
		},
		"margin below 0": func() error {
			_, err := c.LargestSafeFill(Neck{}, []Attitude{{}}, Margin{MM: -1})
			return err
		},
		"pick-up NaN":          func() error { _, err := c.UsableAbove(Point{X: nan}, 0.5, Attitude{}); return err },
		"usable above all":     func() error { _, err := c.FillForUsable(Point{Z: 5}, 0.6, Attitude{}); return err },
		"main below reserve":   func() error { _, err := c.SplitFuel(Point{Z: 1}, Point{Z: 5}, 0.5, Attitude{}); return err },
		"point NaN":            func() error { _, err := c.DepthAt(Point{Y: nan}, 0.5, Attitude{}); return err },
		"freeboard above full": func() error { _, err := c.Freeboard(Neck{}, 2, Attitude{}); return err },
		"7 sides":              func() error { _, err := CircleOutline(10, 7); return err },
		"level above diameter": func() error { _, err := HorizontalCylinderVolume(10, 10, 11); return err },
	} {
		refused(t, name, f())
	}
}

func TestContainerKeepsItsOwnCopy(t *testing.T) {
	outline := Polygon{{0, 0}, {10, 0}, {10, 10}, {0, 10}}
	c, err := NewPrism(outline, 10)
	noErr(t, err)
	outline[2] = YZ{100, 100}
	if v, err := c.VolumeBelow(1e4, Attitude{}); err != nil || math.Abs(v-1) > 1e-12 {
		t.Errorf("changed from outside: %v ml, %v", v, err)
	}
}

func BenchmarkLevelFor(b *testing.B) {
	outline := Polygon{{-80, 0}, {80, 0}, {100, 60}, {70, 120}, {-70, 120}, {-100, 60}}
	small := Polygon{{-50, 10}, {50, 10}, {60, 60}, {40, 100}, {-40, 100}, {-60, 60}}
	c, err := NewContainer([]Slice{{0, small}, {100, outline}, {300, outline}, {400, small}})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := c.LevelFor(3000, Attitude{LeanDeg: 12, PitchDeg: 3}); err != nil {
			b.Fatal(err)
		}
	}
}

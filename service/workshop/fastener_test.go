package workshop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestFastenerPublished(t *testing.T) {
	const iso898 = "ISO 898-1:2013"
	for _, c := range []struct {
		class    string
		diameter float64
		want     float64
	}{
		{"4.6", 8, 225}, {"4.8", 8, 310}, {"5.6", 8, 280}, {"5.8", 8, 380}, {"6.8", 8, 440},
		{"8.8", 16, 580}, {"8.8", 18, 600}, {"9.8", 16, 650}, {"10.9", 10, 830}, {"12.9", 10, 970},
	} {
		got, err := ProofStress(c.class, c.diameter)
		noErr(t, err)
		check(t, PublishedCheck{Function: "ProofStress", Case: "class " + c.class + ", " + Thread{c.diameter, coarsePitch[c.diameter]}.String(), Source: iso898, Where: "table 3", Want: c.want, Got: got, Unit: "MPa", FromMemory: true})
	}

	// Rows of the proof load table as a public copy prints it; the standard rounds
	// stress area and load to three digits.
	classes := []string{"4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9"}
	for designation, loads := range map[string][]float64{
		"M5":  {3200, 4400, 3980, 5400, 6250, 8230, 9230, 11800, 13800},
		"M6":  {4520, 6230, 5630, 7640, 8840, 11600, 13100, 16700, 19500},
		"M8":  {8240, 11400, 10200, 13900, 16100, 21200, 23800, 30400, 35500},
		"M10": {13000, 18000, 16200, 22000, 25500, 33700, 37700, 48100, 56300},
		"M12": {19000, 26100, 23600, 32000, 37100, 48900, 54800, 70000, 81800},
		"M14": {25900, 35600, 32200, 43700, 50600, 66700, 74800, 95500, 112000},
		"M16": {35300, 48700, 44000, 59700, 69100, 91000, 102000, 130000, 152000},
		"M18": {43200, 59500, 53800, 73000, 84500, 115000, 0, 159000, 186000},
		"M20": {55100, 76000, 68600, 93100, 108000, 147000, 0, 203000, 238000},
		"M24": {79400, 109000, 98800, 134000, 155000, 212000, 0, 293000, 342000},
	} {
		th, err := ParseThread(designation)
		noErr(t, err)
		for i, want := range loads {
			if want == 0 { // the class ends at 16 mm
				_, err := ProofLoad(th, classes[i])
				refused(t, designation+" "+classes[i], err)
				continue
			}
			got, err := ProofLoad(th, classes[i])
			noErr(t, err)
			check(t, PublishedCheck{Function: "ProofLoad", Case: designation + ", class " + classes[i], Source: iso898, Where: "table 5", Want: want, Got: got, Tolerance: 0.007 * want, Unit: "N"})
		}
	}

	use, err := ProofUse(15900, 21200)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ProofUse", Case: "M8 8.8 at 15 900 N of 21 200 N", Source: "closed form", Want: 0.75, Got: use, Tolerance: 1e-12})

	// 1/2-13 UNC, both frictions 0.15, bearing from d to 1.5 d. The handbook takes
	// d2 as 0.92 d where it is 0.900 d, which makes its torque 0.9 % larger.
	const (
		lbf  = 4.4482216152605
		lbin = 0.1129848290276167
	)
	unc := Joint{Thread: Thread{12.7, 25.4 / 13}, ThreadFriction: 0.15, BearingFriction: 0.15, BearingDiameterMM: 1.25 * 12.7}
	torque, err := unc.Torque(11707 * lbf)
	noErr(t, err)
	check(t, PublishedCheck{Function: "Joint.Torque", Case: "1/2-13 UNC bolt, 11 707 lbf, frictions 0.15 (source takes d2 = 0.92 d)", Source: "Machinery's Handbook, 31st edition", Where: "p. 1665, example", Want: 1158, Got: torque / lbin, Tolerance: 0.01 * 1158, Unit: "lbf·in"})
	preload, err := unc.Preload(1158 * lbin)
	noErr(t, err)
	check(t, PublishedCheck{Function: "Joint.Preload", Case: "the same, back from 1158 lbf·in", Source: "Machinery's Handbook, 31st edition", Where: "p. 1665, example", Want: 11707, Got: preload / lbf, Tolerance: 0.01 * 11707, Unit: "lbf"})
	uncGeometry, err := unc.Thread.Geometry()
	noErr(t, err)
	check(t, PublishedCheck{Function: "Thread.Geometry", Case: "1/2-13 UNC (same 60° profile): pitch diameter", Source: "Machinery's Handbook, 31st edition", Where: "p. 1665, example", Want: 0.4500, Got: uncGeometry.PitchDiameterMM / 25.4, Tolerance: 0.00005, Unit: "in"})

	m10 := Joint{Thread: Thread{10, 1.5}, ThreadFriction: 0.15, BearingFriction: 0.15}
	k, err := m10.NutFactor()
	noErr(t, err)
	check(t, PublishedCheck{Function: "Joint.NutFactor", Case: "M10, frictions 0.15: about 0.2", Source: "NASA RP-1228", Where: "fastener torque", Want: 0.2, Got: k, Tolerance: 0.005, FromMemory: true})
	k, err = Joint{Thread: Thread{12.7, 25.4 / 13}, ThreadFriction: 0.15, BearingFriction: 0.15, BearingDiameterMM: 1.25 * 12.7}.NutFactor()
	noErr(t, err)
	check(t, PublishedCheck{Function: "Joint.NutFactor", Case: "1/2-13 UNC, frictions 0.15: (0.159·P + 1.156·μ·d)/d, source takes d2 = 0.92 d", Source: "Machinery's Handbook, 31st edition", Where: "p. 1665, equation 24", Want: 0.159/13/0.5 + 1.156*0.15, Got: k, Tolerance: 0.002})

	// A published torque table: class 4.8, K = 0.2, 75 % of the proof load.
	torque, err = TorqueFromNutFactor(0.75*1872*lbf, 8, 0.2)
	noErr(t, err)
	check(t, PublishedCheck{Function: "TorqueFromNutFactor", Case: "M8 class 4.8, 75 % of 1872 lbf, K = 0.2", Source: "a fastener maker's published torque table", Where: "dry parts, class 4.8", Want: 88.5, Got: torque / lbin, Tolerance: 0.1, Unit: "lbf·in"})
	preload, err = PreloadFromNutFactor(318.8*lbin, 10, 0.2)
	noErr(t, err)
	check(t, PublishedCheck{Function: "PreloadFromNutFactor", Case: "M10, 318.8 lbf·in, K = 0.2: 75 % of 5394 lbf", Source: "a fastener maker's published torque table", Where: "dry parts, class 4.8", Want: 0.75 * 5394, Got: preload / lbf, Tolerance: 5, Unit: "lbf"})

	share, err := m10.TorqueAtProofShare("8.8", 0.75)
	noErr(t, err)
	check(t, PublishedCheck{Function: "Joint.TorqueAtProofShare", Case: "M10 8.8, frictions 0.15, three quarters of 33 700 N with K = 0.1995", Source: "ISO 898-1:2013 with T = K·d·F", Where: "table 5", Want: 0.1995 * 10 * 0.75 * 33.7, Got: share, Tolerance: 0.3, Unit: "N·m"})
}

func drawJoint(t *rapid.T) Joint {
	th := drawThread(t)
	return Joint{
		Thread:            th,
		ThreadFriction:    rapid.Float64Range(0.02, 0.5).Draw(t, "thread friction"),
		BearingFriction:   rapid.Float64Range(0.02, 0.5).Draw(t, "bearing friction"),
		BearingDiameterMM: th.DiameterMM * rapid.Float64Range(1, 2).Draw(t, "bearing"),
	}
}

func TestTorquePreloadProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := drawJoint(t)
		f := rapid.Float64Range(1, 1e5).Draw(t, "preload")
		torque, err := j.Torque(f)
		noErr(t, err)
		back, err := j.Preload(torque)
		noErr(t, err)
		if math.Abs(back-f) > 1e-9*f {
			t.Fatalf("%v N gives %v N·m, back %v N", f, torque, back)
		}
		k, err := j.NutFactor()
		noErr(t, err)
		short, err := TorqueFromNutFactor(f, j.Thread.DiameterMM, k)
		noErr(t, err)
		if math.Abs(short-torque) > 1e-9*torque {
			t.Fatalf("K = %v disagrees: %v and %v N·m", k, short, torque)
		}
		back, err = PreloadFromNutFactor(short, j.Thread.DiameterMM, k)
		noErr(t, err)
		if math.Abs(back-f) > 1e-9*f {
			t.Fatalf("K round trip %v, %v", f, back)
		}
		slick := j
		slick.ThreadFriction /= 2
		if slick.ThreadFriction >= 0.02 {
			more, err := slick.Preload(torque)
			noErr(t, err)
			if more <= f {
				t.Fatalf("less friction, less preload: %v, %v", f, more)
			}
		}
		at, err := j.TorqueAtProofShare("10.9", 0.7)
		noErr(t, err)
		reached, err := j.Preload(at)
		noErr(t, err)
		proof, err := ProofLoad(j.Thread, "10.9")
		noErr(t, err)
		use, err := ProofUse(reached, proof)
		noErr(t, err)
		if math.Abs(use-0.7) > 1e-9 {
			t.Fatalf("asked for 0.7 of the proof load, got %v", use)
		}
	})
}

func TestDefaultBearing(t *testing.T) {
	j := Joint{Thread: Thread{8, 1.25}, ThreadFriction: 0.12, BearingFriction: 0.12}
	implied, err := j.Torque(1e4)
	noErr(t, err)
	j.BearingDiameterMM = 10.4
	stated, err := j.Torque(1e4)
	noErr(t, err)
	if implied != stated {
		t.Errorf("0 does not stand for 1.3·d: %v, %v", implied, stated)
	}
}

func TestFastenerRefuses(t *testing.T) {
	m8 := Thread{8, 1.25}
	ok := Joint{Thread: m8, ThreadFriction: 0.12, BearingFriction: 0.12}
	with := func(change func(*Joint)) error {
		j := ok
		change(&j)
		_, err := j.Torque(1000)
		return err
	}
	for name, f := range map[string]func() error{
		"class A2-70":            func() error { _, err := ProofLoad(m8, "A2-70"); return err },
		"class empty":            func() error { _, err := ProofStress("", 8); return err },
		"class 9.8 above 16":     func() error { _, err := ProofStress("9.8", 18); return err },
		"diameter 1":             func() error { _, err := ProofStress("8.8", 1); return err },
		"diameter NaN":           func() error { _, err := ProofStress("8.8", math.NaN()); return err },
		"thread without pitch":   func() error { _, err := ProofLoad(Thread{DiameterMM: 8}, "8.8"); return err },
		"preload below 0":        func() error { _, err := ok.Torque(-1); return err },
		"torque NaN":             func() error { _, err := ok.Preload(math.NaN()); return err },
		"no friction":            func() error { return with(func(j *Joint) { j.ThreadFriction = 0 }) },
		"bearing friction 2":     func() error { return with(func(j *Joint) { j.BearingFriction = 2 }) },
		"bearing inside bolt":    func() error { return with(func(j *Joint) { j.BearingDiameterMM = 5 }) },
		"no thread":              func() error { return with(func(j *Joint) { j.Thread = Thread{} }) },
		"nut factor, no thread":  func() error { _, err := Joint{}.NutFactor(); return err },
		"share 0":                func() error { _, err := ok.TorqueAtProofShare("8.8", 0); return err },
		"share above 1":          func() error { _, err := ok.TorqueAtProofShare("8.8", 1.1); return err },
		"share of unknown class": func() error { _, err := ok.TorqueAtProofShare("7.7", 0.5); return err },
		"proof load 0":           func() error { _, err := ProofUse(1, 0); return err },
		"K 0":                    func() error { _, err := TorqueFromNutFactor(1, 8, 0); return err },
		"K 2":                    func() error { _, err := PreloadFromNutFactor(1, 8, 2); return err },
	} {
		refused(t, name, f())
	}
}

func TestDrivePublished(t *testing.T) {
	for d, want := range map[float64]driveSize{
		3: {5.5, 2.5}, 4: {7, 3}, 5: {8, 4}, 6: {10, 5}, 8: {13, 6}, 10: {16, 8},
		12: {18, 10}, 14: {21, 12}, 16: {24, 14}, 20: {30, 17}, 24: {36, 19}, 30: {46, 22},
	} {
		name := Thread{d, coarsePitch[d]}.String()
		flats, err := HexAcrossFlats(d)
		noErr(t, err)
		check(t, PublishedCheck{Function: "HexAcrossFlats", Case: name, Source: "ISO 4014:2011 and ISO 4017, as charted by a trade guide", Want: want.acrossFlats, Got: flats, Unit: "mm"})
		key, err := SocketKey(d)
		noErr(t, err)
		check(t, PublishedCheck{Function: "SocketKey", Case: name, Source: "ISO 4762:2004, as charted by a trade guide", Want: want.socketKey, Got: key, Unit: "mm"})
	}
	for name, f := range map[string]func() error{
		"hexagon of M9":  func() error { _, err := HexAcrossFlats(9); return err },
		"key of M18":     func() error { _, err := SocketKey(18); return err },
		"hexagon of NaN": func() error { _, err := HexAcrossFlats(math.NaN()); return err },
	} {
		refused(t, name, f())
	}
}

package workshop

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

const mmPerInch = 25.4

// TyreConstruction is the build of a tyre's carcass as its size marking tells
// it.
type TyreConstruction byte

// The constructions of UN Regulation 75, named by the letter or dash between
// aspect ratio and rim diameter code.
const (
	TyreDiagonal   TyreConstruction = '-'
	TyreBiasBelted TyreConstruction = 'B'
	TyreRadial     TyreConstruction = 'R'
)

// TyreTube says whether a tyre needs an inner tube.
type TyreTube byte

// The tube marks. An unmarked tyre is fitted with a tube (UN Regulation 75
// marks only the tubeless one).
const (
	TyreTubeUnmarked TyreTube = iota
	TyreTubeType
	TyreTubeless
)

// Tyre is what a size marking says. Two markings that say the same give equal
// values.
type Tyre struct {
	// WidthMM is the nominal section width in millimetres.
	WidthMM float64
	// AspectPercent is the section height over the section width.
	AspectPercent float64
	// AspectAssumed is set when an inch marking states no aspect ratio, so that
	// AspectPercent comes from the table at [ParseTyre].
	AspectAssumed bool
	// InchMarked is set for a marking in inches, such as 3.00-21.
	InchMarked bool
	// RimCode is the nominal rim diameter code, in inches.
	RimCode      float64
	Construction TyreConstruction
	// LoadIndex and SpeedSymbol are the service description. They are 0 and
	// empty when the marking has none.
	LoadIndex   int
	SpeedSymbol string
	// MotorcycleRim is set by M/C: the tyre fits motorcycle rims only.
	MotorcycleRim bool
	Tube          TyreTube
	// NotForHighway is set by NHS: not for use on public roads.
	NotForHighway bool
	Reinforced    bool
	MudAndSnow    bool
}

var (
	tyreSize = regexp.MustCompile(`^(\d{1,3}(?:\.\d{1,2})?)(?:/(\d{2,3}))?\s*([VZ]?\s*[RB]|D|X|-)\s*(\d{1,2}(?:\.5)?)(?:\s+|$|\()`)
	// The service description stands as 65R, 65 R or (65R).
	tyreService = regexp.MustCompile(`^(\d{1,3}) ?(A[1-8]|[A-Z])$`)
)

// lowProfileAspects are the widths, in hundredths of an inch, that exist only
// in the low-section series; every other inch marking without a ratio is of the
// full-section series, as high as it is wide.
var lowProfileAspects = map[int]float64{
	310: 90, 360: 90, 410: 90, 460: 90, 510: 90, 610: 90,
	425: 85,
}

// ParseTyre reads a size marking as it stands on the side wall: metric
// (110/80-18, 90/100-21 57M, 140/80B18, 120/70ZR17 M/C) or inch (3.00-21,
// 4.10-18, 4.25/85-18). Case, spacing and an x or × for the dash do not matter.
// After the size may stand, in any order, a service description (65R), M/C,
// TT or TUBE TYPE, TL or TUBELESS, NHS, REINF or REINFORCED, M+S, and the marks
// that change nothing here (FRONT, REAR, F, DP, MST, a ply rating such as 4PR).
// The letters V and Z before the construction letter are accepted and dropped:
// the service description governs.
//
// An inch marking without a ratio gets 100 % (full-section series), 90 % for
// the widths 3.10, 3.60, 4.10, 4.60, 5.10 and 6.10 and 85 % for 4.25
// (low-section series), a rule of thumb that meets the standard's design
// diameter within about 2 %.
//
// It refuses widths outside 40 to 300 mm or 1.5 to 8 in, ratios outside 25 to
// 105 %, rim codes outside 4 to 24, a load index or speed symbol that is not in
// the tables of [LoadCapacityKg] and [SpeedCategoryKMH], and any word it does
// not know. The letter-coded sizes (MT90-16) and vulgar fractions (2 1/4-17) are
// not read.
//
// Sources: UN Regulation 75, 2 and 3 (markings), from memory; the aspect ratios
// from a tyre maker's published side-wall guide.
func ParseTyre(marking string) (Tyre, error) {
	const want = "a tyre size such as 110/80-18, 140/80B18 65M or 3.00-21"
	s := strings.ToUpper(strings.TrimSpace(marking))
	s = strings.NewReplacer("×", "X", "–", "-", "‐", "-", "‑", "-", "TUBE TYPE", "TT").Replace(s)
	s = strings.ReplaceAll(s, " /", "/")
	s = strings.ReplaceAll(s, "/ ", "/")

	m := tyreSize.FindStringSubmatchIndex(s)
	if m == nil {
		return Tyre{}, badText("marking", marking, want)
	}
	group := func(i int) string {
		if m[2*i] < 0 {
			return ""
		}
		return s[m[2*i]:m[2*i+1]]
	}
	var t Tyre
	if err := t.setSection(marking, group(1), group(2)); err != nil {
		return Tyre{}, err
	}
	switch c := group(3); c[len(c)-1] {
	case 'R':
		t.Construction = TyreRadial
	case 'B':
		t.Construction = TyreBiasBelted
	default:
		t.Construction = TyreDiagonal
	}
	rim, err := strconv.ParseFloat(group(4), 64)
	if err != nil || rim < 4 || rim > 24 {
		return Tyre{}, badText("marking", marking, "a rim diameter code of 4 to 24")
	}
	t.RimCode = rim

	words := strings.Fields(s[m[9]:])
	for i := 0; i < len(words); i++ {
		word := words[i]
		if i+1 < len(words) && isDigits(word) {
			i++
			word += " " + words[i]
		}
		if err := t.setMark(marking, word); err != nil {
			return Tyre{}, err
		}
	}
	return t, nil
}

func (t *Tyre) setSection(marking, width, aspect string) error {
	w, err := strconv.ParseFloat(width, 64)
	if err != nil {
		return badText("marking", marking, "a section width")
	}
	t.InchMarked = strings.Contains(width, ".")
	switch {
	case t.InchMarked && (w < 1.5 || w > 8):
		return badText("marking", marking, "a section width of 1.5 to 8 in")
	case !t.InchMarked && (w < 40 || w > 300):
		return badText("marking", marking, "a section width of 40 to 300 mm, or inches with a decimal point")
	case !t.InchMarked && aspect == "":
		return badText("marking", marking, "an aspect ratio after a metric width, such as 110/80")
	}
	t.WidthMM = w
	if t.InchMarked {
		t.WidthMM = math.Round(w*100) * mmPerInch / 100
	}
	if aspect == "" {
		t.AspectAssumed = true
		t.AspectPercent = 100
		if low, ok := lowProfileAspects[int(math.Round(w*100))]; ok {
			t.AspectPercent = low
		}
		return nil
	}
	a, err := strconv.ParseFloat(aspect, 64)
	if err != nil || a < 25 || a > 105 {
		return badText("marking", marking, "an aspect ratio of 25 to 105 %")
	}
	t.AspectPercent = a
	return nil
}

func (t *Tyre) setMark(marking, word string) error {
	switch word {
	case "M/C":
		t.MotorcycleRim = true
		return nil
	case "TT", "TUBETYPE":
		return t.setTube(marking, TyreTubeType)
	case "TL", "TUBELESS":
		return t.setTube(marking, TyreTubeless)
	case "NHS":
		t.NotForHighway = true
		return nil
	case "REINF", "REINFORCED":
		t.Reinforced = true
		return nil
	case "M+S", "M&S":
		t.MudAndSnow = true
		return nil
	case "FRONT", "REAR", "F", "DP", "MST":
		return nil
	}
	if ply, ok := strings.CutSuffix(word, "PR"); ok && isDigits(strings.TrimSpace(ply)) {
		return nil
	}
	if inner, ok := strings.CutPrefix(word, "("); ok {
		word = strings.TrimSuffix(inner, ")")
	}
	m := tyreService.FindStringSubmatch(word)
	if m == nil {
		return badText("marking", marking, fmt.Sprintf("a known mark in place of %q", word))
	}
	if t.SpeedSymbol != "" {
		return badText("marking", marking, "one service description")
	}
	index, err := strconv.Atoi(m[1])
	if err != nil {
		return badText("marking", marking, "a load index")
	}
	if _, err := LoadCapacityKg(index); err != nil {
		return badText("marking", marking, fmt.Sprintf("a load index of 0 to %d", len(loadCapacities)-1))
	}
	if _, err := SpeedCategoryKMH(m[2]); err != nil {
		return badText("marking", marking, "a speed category symbol of UN Regulation 75")
	}
	t.LoadIndex, t.SpeedSymbol = index, m[2]
	return nil
}

func (t *Tyre) setTube(marking string, tube TyreTube) error {
	if t.Tube != TyreTubeUnmarked && t.Tube != tube {
		return badText("marking", marking, "tube type or tubeless, one of them")
	}
	t.Tube = tube
	return nil
}

// String writes the marking in one spelling. For a Tyre that [ParseTyre] gave,
// ParseTyre reads the result back to an equal value.
func (t Tyre) String() string {
	var b strings.Builder
	if t.InchMarked {
		b.WriteString(strconv.FormatFloat(t.WidthMM/mmPerInch, 'f', 2, 64))
	} else {
		b.WriteString(strconv.FormatFloat(t.WidthMM, 'f', -1, 64))
	}
	if !t.AspectAssumed {
		b.WriteString("/" + strconv.FormatFloat(t.AspectPercent, 'f', -1, 64))
	}
	construction := t.Construction
	if construction == 0 {
		construction = TyreDiagonal
	}
	b.WriteByte(byte(construction))
	b.WriteString(strconv.FormatFloat(t.RimCode, 'f', -1, 64))
	if t.SpeedSymbol != "" {
		b.WriteString(" " + strconv.Itoa(t.LoadIndex) + t.SpeedSymbol)
	}
	for _, mark := range []struct {
		on   bool
		text string
	}{
		{t.MotorcycleRim, "M/C"},
		{t.Tube == TyreTubeType, "TT"},
		{t.Tube == TyreTubeless, "TL"},
		{t.Reinforced, "REINF"},
		{t.MudAndSnow, "M+S"},
		{t.NotForHighway, "NHS"},
	} {
		if mark.on {
			b.WriteString(" " + mark.text)
		}
	}
	return b.String()
}

// DiameterMM returns the design overall diameter in millimetres, unloaded and
// at rest: D = d + 2·H with d = 25.4 × rim code and section height
// H = S·Ra/100. UN Regulation 75 rounds d to whole millimetres, which moves D by
// up to 0.5 mm; a real off-road tyre with tall knobs may be several per cent
// larger. For a Tyre that [ParseTyre] gave.
//
// Source: UN Regulation 75, 6.1.2.
func (t Tyre) DiameterMM() float64 {
	return mmPerInch*t.RimCode + 2*t.WidthMM*t.AspectPercent/100
}

// CircumferenceMM returns π times [Tyre.DiameterMM]. Under load a tyre rolls
// some 3 to 5 % less per turn (common practice, no source); a measured roll-out
// is better where road speed matters.
func (t Tyre) CircumferenceMM() float64 {
	return math.Pi * t.DiameterMM()
}

func isDigits(s string) bool {
	for _, r := range s {
		if r < '0' || r > '9' {
			return false
		}
	}
	return s != ""
}

package formula

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// reader makes something of the text of an input that is no plain quantity;
// problem is empty on success.
type reader func(text string) (r reading, problem string)

// reading is what a reader made of a text, and how to repeat it.
type reading struct {
	value any
	say   func(quantity.System) string
}

// same is a reading that reads alike in every system of units.
func same(value any, text string) reading {
	return reading{value: value, say: func(quantity.System) string { return text }}
}

// written is a quantity as somebody wrote it.
type written struct {
	quantity.Quantity
	// ratio says that a plain number is meant as one ("1:2", "0.5 ratio") and not
	// as a number in whatever unit the input has.
	ratio bool
}

// readQuantity reads a number with a unit or without.
func readQuantity(text string) (q written, problem string) {
	parsed, err := quantity.Parse(text)
	q.Quantity = parsed
	q.ratio = parsed.Unit == plainNumber && (strings.Contains(text, ":") || strings.HasSuffix(strings.ToLower(text), "ratio"))
	var (
		syntax  *quantity.SyntaxError
		unknown *quantity.UnknownUnitError
	)
	switch {
	case errors.As(err, &syntax):
		return q, fmt.Sprintf("%.60q is no quantity: %s", text, syntax.Reason)
	case errors.As(err, &unknown):
		return q, unknown.Error()
	case err != nil:
		return q, err.Error()
	}
	return q, ""
}

// choose returns the choice that a text means: case, spaces, hyphens and
// underscores do not matter, and yes and no have their usual short forms.
func (in *input) choose(text string) (word, problem string) {
	for _, c := range in.choices {
		if bare(c) == bare(text) {
			return c, ""
		}
	}
	if slices.Equal(in.choices, yesOrNo) {
		switch bare(text) {
		case "y", "true":
			return "yes", ""
		case "n", "false":
			return "no", ""
		}
	}
	return "", fmt.Sprintf("is %.60q, want one of %s", text, strings.Join(in.choices, ", "))
}

var yesOrNo = []string{"yes", "no"}

func bare(s string) string {
	return strings.NewReplacer(" ", "", "-", "", "_", "").Replace(strings.ToLower(s))
}

// plainText takes any text; package workshop reads it.
func plainText(text string) (reading, string) { return same(text, text), "" }

func readThread(text string) (reading, string) {
	t, err := workshop.ParseThread(text)
	return same(t, t.String()), textProblem(err)
}

func readViscosity(text string) (reading, string) {
	v, err := workshop.ParseViscosity(text)
	return same(v, v.String()), textProblem(err)
}

func readTyre(text string) (reading, string) {
	t, err := workshop.ParseTyre(text)
	if err != nil {
		return reading{}, textProblem(err)
	}
	return same(t, t.String()), ""
}

// textProblem words the error of one of package workshop's readers of text.
func textProblem(err error) string {
	var bad *workshop.InputError
	switch {
	case err == nil:
		return ""
	case !errors.As(err, &bad):
		return err.Error()
	case bad.Text != "":
		return fmt.Sprintf("is %.60q, want %s", bad.Text, bad.Want)
	}
	return fmt.Sprintf("has %s, want %s", strconv.FormatFloat(bad.Value, 'g', 6, 64), bad.Want)
}

// readGearPair reads two numbers of teeth, driving first: "13:50" or "13/50".
func readGearPair(text string) (reading, string) {
	driving, driven, ok := strings.Cut(text, ":")
	if !ok {
		driving, driven, ok = strings.Cut(text, "/")
	}
	a, errA := strconv.Atoi(strings.TrimSpace(driving))
	b, errB := strconv.Atoi(strings.TrimSpace(driven))
	if !ok || errA != nil || errB != nil {
		return reading{}, fmt.Sprintf("is %.60q, want two numbers of teeth, driving first, such as 13:50", text)
	}
	p := workshop.GearPair{Driving: a, Driven: b}
	return same(p, fmt.Sprintf("%d:%d", a, b)), ""
}

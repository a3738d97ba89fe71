package jobplan

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

const (
	inputDigits  = 4
	resultDigits = 3
	// keptDigits leave out the last digits of binary arithmetic.
	keptDigits = 9
)

// calculation collects what went into a formula and what came out.
type calculation struct {
	*pb.Calculation
	units quantity.System
}

func (j *job) calculation(formula, description, source string) calculation {
	return calculation{
		Calculation: &pb.Calculation{Formula: formula, Description: description, Source: source},
		units:       j.req.Units,
	}
}

// in adds an input, and returns it for use.
func (c calculation) in(name, description string, v float64, unit quantity.Unit) float64 {
	c.Inputs = append(c.Inputs, c.value(name, description, v, unit, inputDigits))
	return v
}

// inRatio adds parts of fuel to one of oil.
func (c calculation) inRatio(name, description string, v float64) float64 {
	c.Inputs = append(c.Inputs, ratioValue(name, description, v))
	return v
}

func (c calculation) inText(name, description, text string) {
	c.Inputs = append(c.Inputs, &pb.CalculatedValue{Name: name, Description: description, Text: text})
}

// out adds a result.
func (c calculation) out(name, description string, v float64, unit quantity.Unit) {
	c.Results = append(c.Results, c.value(name, description, v, unit, resultDigits))
}

func (c calculation) outRatio(name, description string, v float64) {
	c.Results = append(c.Results, ratioValue(name, description, v))
}

func (c calculation) outText(name, description, text string) {
	c.Results = append(c.Results, &pb.CalculatedValue{Name: name, Description: description, Text: text})
}

// beware adds to the caution.
func (c calculation) beware(sentence string) {
	if c.Caution != "" {
		c.Caution += " "
	}
	c.Caution += sentence
}

func (c calculation) value(name, description string, v float64, unit quantity.Unit, digits int) *pb.CalculatedValue {
	return &pb.CalculatedValue{
		Name:        name,
		Description: description,
		Value:       phrase.Round(v, keptDigits),
		Unit:        unit.Code(),
		Text:        said(c.units, v, unit, digits),
	}
}

func ratioValue(name, description string, v float64) *pb.CalculatedValue {
	return &pb.CalculatedValue{
		Name:        name,
		Description: description,
		Value:       phrase.Round(v, keptDigits),
		Unit:        plain.Code(),
		Text:        ratioText(v),
	}
}

// ratioText says parts of fuel to one of oil: "50:1".
func ratioText(v float64) string { return quantity.Format(v, plain, resultDigits) + ":1" }

// said says a value in the unit that fits it. An altitude of nought stays in
// feet, not inches.
func said(units quantity.System, v float64, unit quantity.Unit, digits int) string {
	switch unit {
	case turn:
		return quantity.FormatTurns(v)
	case degree, percent, plain, kgPerM3:
		return quantity.Format(v, unit, digits)
	}
	reader := unit.In(units, v)
	if unit == metre {
		reader = metre
		if units == quantity.USCustomary {
			reader = foot
		}
	}
	converted, err := unit.Convert(v, reader)
	if err != nil {
		return quantity.Format(v, unit, digits)
	}
	return quantity.Format(converted, reader, digits)
}

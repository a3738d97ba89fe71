package main

import (
	"fmt"
	"strings"

	"github.com/snapgauge/snapgauge/service/quantity"
)

// measure is a flag for a quantity, in any unit of its dimension. A number
// without a unit is in its own.
type measure struct {
	unit    quantity.Unit
	kind    string // what the flag's help calls it: "DEGREES"
	example string
	value   float64 // in unit
	text    string  // as it was typed; empty where it was not
}

func newMeasure(code, kind, example string) measure {
	return measure{unit: quantity.MustUnit(code), kind: kind, example: example}
}

func (m *measure) Type() string   { return m.kind }
func (m *measure) String() string { return m.text }

func (m *measure) Set(s string) error {
	q, err := quantity.Parse(s)
	if err != nil {
		return fmt.Errorf("%w; want something like %s", err, m.example)
	}
	if m.value, err = inUnit(q, m.unit); err != nil {
		return fmt.Errorf("got %q, want something like %s", s, m.example)
	}
	m.text = s
	return nil
}

// inUnit converts a quantity; a plain number is taken to be in the unit.
func inUnit(q quantity.Quantity, unit quantity.Unit) (float64, error) {
	if q.Unit == (quantity.Unit{}) {
		return q.Value, nil
	}
	return q.Unit.Convert(q.Value, unit)
}

var kilogram = quantity.MustUnit("kg")

// rider is a flag for a mass, and after a plus the mass of the gear: "82+11",
// "180 lb + 20 lb". Numbers are kilograms; where only one of two has a unit, the
// other is in it as well.
type rider struct {
	mass, gear float64 // kg
	text       string  // as it was typed; empty where it was not
}

func (r *rider) Type() string   { return "KG[+GEAR]" }
func (r *rider) String() string { return r.text }

func (r *rider) Set(s string) error {
	const want = "want a mass, and after a plus that of the gear, such as 82+11 or \"180 lb + 20 lb\""
	mass, gear, both := strings.Cut(s, "+")
	body, err := quantity.Parse(mass)
	if err != nil {
		return fmt.Errorf("%w; %s", err, want)
	}
	carried := quantity.Quantity{Unit: body.Unit}
	if both {
		if carried, err = quantity.Parse(gear); err != nil {
			return fmt.Errorf("%w; %s", err, want)
		}
	}
	plain := quantity.Unit{}
	switch {
	case body.Unit == plain:
		body.Unit = carried.Unit
	case carried.Unit == plain:
		carried.Unit = body.Unit
	}
	if r.mass, err = inUnit(body, kilogram); err != nil {
		return fmt.Errorf("got %q, %s", s, want)
	}
	if r.gear, err = inUnit(carried, kilogram); err != nil {
		return fmt.Errorf("got %q, %s", s, want)
	}
	r.text = s
	return nil
}

package formula

import (
	"github.com/snapgauge/snapgauge/service/quantity"
)

// toGroup is the unit that a value is converted to.
const toGroup = "to"

var unitsOfMeasure = []Formula{
	{
		name: "convert", topic: "units",
		description: "A value in another unit of measure.",
		source:      "definitions of the units (UCUM, NIST SP 811)",
		caution:     "A temperature is a point on its scale: 10 °C is 50 °F. For a difference say so.",
		inputs: []input{
			{name: "value", group: readingGroup, exact: true, what: "The value with its unit: \"17.5 N.m\""},
			{name: "to", read: readUnit, what: "The unit wanted: \"lbf.ft\", \"psi\", \"in\""},
			{name: "difference", choices: yesOrNo, fallback: "no", what: "Whether it is a difference, which matters for temperatures: 10 K is 18 °F"},
		},
		results: []result{{name: "value", group: toGroup, form: asStands, digits: exactDigits, what: "The value in the unit wanted"}},
		work:    convert,
	},
}

// readUnit reads a unit of measure.
func readUnit(text string) (reading, string) {
	u, err := quantity.ParseUnit(text)
	if err != nil {
		return reading{}, err.Error()
	}
	return same(u, u.String()), ""
}

func convert(a *arguments) (outputs, error) {
	from, to := a.base(readingGroup), value[quantity.Unit](a, "to")
	change := from.Convert
	if a.yes("difference") {
		change = from.ConvertDifference
	}
	v, err := change(a.num("value"), to)
	if err != nil {
		return nil, refuse("to", "measures %s, want a unit of %s", to.Dimension(), from.Dimension())
	}
	a.bases[toGroup] = to
	return outputs{number(v)}, nil
}

package formula

import "math"

// outputs are what a work function returns: one for each declared result, in
// their order.
type outputs []output

// output is the value of one result.
type output struct {
	value  float64
	series []float64 // of a result that is numbered
	text   string    // of a result that is no number
	absent bool      // of a result that this input does not have
}

func number(v float64) output { return output{value: v} }

func words(s string) output { return output{text: s} }

func yes(b bool) output { return output{text: yesNo(b)} }

// absent is a result that this input does not have.
func absent() output { return output{absent: true} }

// limit is a number that may be missing: an infinite one is "no limit".
func limit(v float64) output {
	if math.IsInf(v, 0) {
		return words("no limit")
	}
	return number(v)
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// The following pass on what a function of package workshop returns.

func one(v float64, err error) (outputs, error) { return outputs{number(v)}, err }

func whether(b bool, err error) (outputs, error) { return outputs{yes(b)}, err }

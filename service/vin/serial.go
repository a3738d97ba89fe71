package vin

import "fmt"

// SerialRange is a run of serial numbers of one model and model year, as
// bulletins give it. Both bounds belong to it; an empty one is open. The bounds
// are in capitals, as [VIN.Serial] gives serial numbers.
type SerialRange struct {
	From, To string
}

// RangeError says that a range can never contain a serial number.
type RangeError struct {
	Range  SerialRange
	Reason string
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("serial numbers %q to %q: %s", e.Range.From, e.Range.To, e.Reason)
}

// Validate returns a *[RangeError] when the bounds contradict each other: they
// differ in length, the first is above the last, or a character is one that
// serial numbers do not have.
func (r SerialRange) Validate() error {
	for _, bound := range []string{r.From, r.To} {
		for i := range len(bound) {
			if value[bound[i]] < 0 {
				return &RangeError{r, fmt.Sprintf("character %d of %q is none of a serial number", i+1, bound)}
			}
		}
	}
	if r.From != "" && r.To != "" {
		if len(r.From) != len(r.To) {
			return &RangeError{r, "the bounds differ in length"}
		}
		if r.From > r.To {
			return &RangeError{r, "the first is above the last"}
		}
	}
	return nil
}

// Contains reports whether the serial number lies in the range. Serial numbers
// of one length are in order character by character, digits before letters:
// 009999 before 00A000. One whose length differs from that of a bound has no
// order with it and is outside. Without bounds, every serial number but the
// empty one is inside.
func (r SerialRange) Contains(serial string) bool {
	if serial == "" {
		return false
	}
	if r.From != "" && (len(serial) != len(r.From) || serial < r.From) {
		return false
	}
	if r.To != "" && (len(serial) != len(r.To) || serial > r.To) {
		return false
	}
	return true
}

package near

// Offered is how many slips away a name may be to be offered to a person who
// then decides: a third of the length, rounded down, but one at least. The
// length is that of the longer of the two, in characters.
func Offered(length int) int { return max(1, length/3) }

// Trusted is how many slips a text of that length, in characters, may have to
// be taken for a name without asking: none below four characters, one below
// eight, otherwise two.
func Trusted(length int) int {
	switch {
	case length >= 8:
		return 2
	case length >= 4:
		return 1
	}
	return 0
}

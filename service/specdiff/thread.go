package specdiff

import "github.com/snapgauge/snapgauge/service/workshop"

// sameThread compares designations: a coarse pitch may be left out (ISO 965-1).
func sameThread(a, b string) bool {
	ta, errA := workshop.ParseThread(a)
	tb, errB := workshop.ParseThread(b)
	if errA != nil || errB != nil {
		return foldWord(a) == foldWord(b)
	}
	return ta == tb
}

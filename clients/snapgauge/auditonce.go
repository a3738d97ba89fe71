package main

import (
	"os"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
)

// eachFileOnce refuses to read a file twice, also under two names: every count
// would be wrong, and nobody would see it. A pipe is something else each time.
func eachFileOnce(files []string) error {
	names := make([]string, 0, len(files))
	seen := make([]os.FileInfo, 0, len(files))
	for _, file := range files {
		info, err := os.Stat(file)
		if file == "-" || err != nil || !info.Mode().IsRegular() {
			continue
		}
		for i, other := range seen {
			switch {
			case !os.SameFile(info, other):
			case names[i] == file:
				return usage("%s: is given twice", layout.Clean(file))
			default:
				return usage("%s: is the same file as %s", layout.Clean(file), layout.Clean(names[i]))
			}
		}
		names, seen = append(names, file), append(seen, info)
	}
	return nil
}

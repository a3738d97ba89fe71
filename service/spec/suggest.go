package spec

import (
	"fmt"

	"github.com/snapgauge/snapgauge/service/near"
)

// suggest returns `; did you mean "x"?` for the nearest name, the first of the
// list among equals, or nothing when none is near.
func suggest(got string, names []string) string {
	if meant := near.Name(got, names); meant != "" {
		return fmt.Sprintf("; did you mean %q?", meant)
	}
	return ""
}

package server

import (
	"strings"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/filter"
)

// parseFilter reads a filter that stands in a field of a request; nil for an empty
// one.
func parseFilter(dialect filter.Dialect, field, text string) (store.Expr, error) {
	chosen, err := dialect.Parse(text)
	if err != nil {
		return nil, badField(field, reasonFilterInvalid, "%s", strings.TrimPrefix(err.Error(), "filter: "))
	}
	return chosen, nil
}

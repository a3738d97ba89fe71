package server

import (
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/filter"
)

// specFields are what specs can be filtered by, as their newest revisions say it.
var specFields = store.Table[*catalogue.Head]{
	"make":       {Kind: store.KindText, Text: func(h *catalogue.Head) string { return h.Make }},
	"model":      {Kind: store.KindText, Text: func(h *catalogue.Head) string { return h.Model }},
	"model_year": {Kind: store.KindInt, Int: func(h *catalogue.Head) int64 { return int64(h.ModelYear) }},
	"market":     {Kind: store.KindText, Text: func(h *catalogue.Head) string { return h.Market }},
}

var specFilters = filter.Dialect{Fields: specFields, Example: `market = "EU"`}

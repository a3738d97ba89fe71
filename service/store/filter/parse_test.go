package filter_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/filter"
)

func compare(f store.Field, op store.Op, v any) store.Compare {
	return store.Compare{Field: f, Op: op, Value: v}
}

func TestParse(t *testing.T) {
	t.Parallel()
	shop := compare(store.FieldShop, store.Equal, "ridge-cycles")
	reject := compare(store.FieldVerdict, store.Equal, "REJECT")
	year := compare(store.FieldModelYear, store.GreaterEqual, int64(2025))
	noon := time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)
	for _, test := range []struct {
		text string
		want store.Expr
	}{
		{"", nil},
		{" \t\n", nil},
		{`shop = "ridge-cycles"`, shop},
		{`  shop="ridge-cycles"  `, shop},
		{`shop = 'ridge-cycles'`, shop},
		{`shop != ridge`, compare(store.FieldShop, store.NotEqual, "ridge")},
		{`shop = technician`, compare(store.FieldShop, store.Equal, "technician")},
		{`verdict = REJECT`, reject},
		{`phase = "PRE_DELIVERY"`, compare(store.FieldPhase, store.Equal, "PRE_DELIVERY")},
		{`model_year >= 2025`, year},
		{`model_year > -1`, compare(store.FieldModelYear, store.Greater, int64(-1))},
		{`shop = "ridge-cycles" AND verdict = "REJECT"`, store.And{shop, reject}},
		{`shop = "ridge-cycles" verdict = "REJECT"`, store.And{shop, reject}},
		{`shop = "ridge-cycles" AND verdict = REJECT AND model_year >= 2025`, store.And{shop, reject, year}},
		{`shop = "ridge-cycles" AND (verdict = REJECT AND (model_year >= 2025))`, store.And{shop, reject, year}},
		{`shop = "ridge-cycles" AND verdict = REJECT OR model_year >= 2025`, store.And{shop, store.Or{reject, year}}},
		{`shop = "ridge-cycles" OR verdict = REJECT OR model_year >= 2025`, store.Or{shop, reject, year}},
		{`NOT verdict = REJECT`, store.Not{Expr: reject}},
		{`-verdict = REJECT`, store.Not{Expr: reject}},
		{`NOT (verdict = REJECT OR model_year >= 2025)`, store.Not{Expr: store.Or{reject, year}}},
		{`vin = "0vst 2e3c7-ta00 0702"`, compare(store.FieldVIN, store.Equal, "0VST2E3C7TA000702")},
		{`verdict = reject`, compare(store.FieldVerdict, store.Equal, "REJECT")},
		{`vin = "0VS*"`, compare(store.FieldVIN, store.HasPrefix, "0VS")},
		{`vin != "0VS*"`, store.Not{Expr: compare(store.FieldVIN, store.HasPrefix, "0VS")}},
		{`technician = "J\"\u00f6\\"`, compare(store.FieldTechnician, store.Equal, `J"ö\`)},
		{`finish_time < "2026-11-30T12:00:00Z"`, compare(store.FieldFinishTime, store.Less, noon)},
		{`finish_time < timestamp("2026-11-30T12:00:00Z")`, compare(store.FieldFinishTime, store.Less, noon)},
		{`create_time = "2026-11-30T13:00:00.0000009+01:00"`, compare(store.FieldCreateTime, store.Equal, noon)},
		{`spec_revision = specs/trail/revisions/3`, compare(store.FieldSpecRevision, store.Equal, "specs/trail/revisions/3")},
		{strings.Repeat("(", filter.MaxDepth) + "verdict = REJECT" + strings.Repeat(")", filter.MaxDepth), reject},
	} {
		got, err := filter.Setups.Parse(test.text)
		if err != nil {
			t.Errorf("%s: %v", test.text, err)
			continue
		}
		if diff := cmp.Diff(test.want, got); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", test.text, diff)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for _, test := range []struct{ text, message string }{
		{`colour = "red"`, `character 1: got field "colour", wanted one of create_time, finish_time, market`},
		{`  shop.name = "x"`, `character 3: got field "shop.name", wanted one of`},
		{`"shop" = "x"`, `got field text "shop", wanted one of`},
		{`1 = 1`, `got field number 1, wanted one of`},
		{`SHOP = "x"`, `got field "SHOP", wanted one of`},
		{`shop < "x"`, `shop: got the operator <, wanted = or !=`},
		{`verdict >= REJECT`, `verdict: got the operator >=, wanted = or !=`},
		{`shop:"x"`, `got the operator ":", wanted = or !=`},
		{`shop = 42`, `character 8: shop: got number 42, wanted a text in quotes`},
		{`technician = j.doe`, `technician: got "j.doe", wanted a text in quotes`},
		{`verdict = "MAYBE"`, `verdict: got text "MAYBE", wanted one of ACCEPT, REJECT, INCOMPLETE, REFER`},
		{`verdict = "R*"`, `verdict: got text "R*", wanted one of ACCEPT`},
		{`phase = UNSPECIFIED`, `phase: got "UNSPECIFIED", wanted one of PRE_DELIVERY, HANDOVER, FIRST_SERVICE, SERVICE`},
		{`model_year = "2026"`, `model_year: got text "2026", wanted a whole number without quotes`},
		{`model_year = 2026.5`, `model_year: got number 2026.5, wanted a whole number`},
		{`model_year = new`, `model_year: got "new", wanted a whole number`},
		{`model_year = 99999999999999999999`, `wanted conditions such as`},
		{`create_time > "yesterday"`, `create_time: got text "yesterday", wanted a time in quotes, such as`},
		{`create_time > "2026-11-30"`, `wanted a time in quotes, such as`},
		{`create_time > 2026`, `got number 2026, wanted a time in quotes`},
		{`create_time > "0000-01-01T00:00:00Z"`, `wanted a time in quotes`},
		{`vin = "*"`, `vin: got text "*", wanted at most one asterisk, at the end`},
		{`vin = "0*S"`, `wanted at most one asterisk, at the end`},
		{`vin = "0VS**"`, `wanted at most one asterisk, at the end`},
		{`REJECT`, `got "REJECT", wanted a condition such as shop`},
		{`"REJECT"`, `got text "REJECT", wanted a condition`},
		{`NOT REJECT`, `character 5: got "REJECT", wanted a condition`},
		{`shop = "x" AND REJECT`, `character 16: got "REJECT", wanted a condition`},
		{`f(shop)`, `got function or word "f", wanted a condition`},
		{`shop = f("x")`, `shop: got function or word "f", wanted a text in quotes`},
		{`shop = (a = b)`, `shop: got a condition, wanted a text in quotes`},
		{`shop = "x`, `unterminated string`},
		{`shop =`, `wanted conditions such as`},
		{`AND`, `wanted conditions such as`},
		{`shop = "x" AND`, `wanted conditions such as`},
		{`shop = a-b`, `character 9: got "shop = a-b"`},
		{`(shop = "x"`, `wanted conditions such as`},
		{`shop = "x")`, `character 11: `},
		{"shop = \"\xff\"", `got bytes that are no text, wanted UTF-8`},
		{`shop = "` + strings.Repeat("x", filter.MaxLength) + `"`, `got 1033 bytes, wanted at most 1024`},
		{strings.Repeat("(", 17) + "shop = x" + strings.Repeat(")", 17), `character 17: got 17 parentheses inside one another, wanted at most 16`},
		{strings.Repeat("vin=a ", 65), `character 385: got 65 comparisons or more, wanted at most 64`},
		{strings.Repeat("-(-(-(-(-(-(vin=a)))))) ", 40), `wanted a simpler one (invalid query: filter: wanted at most 200 expressions)`},
		{strings.Repeat("(", 1024), `wanted at most 16`},
		{strings.Repeat("f(", 500), `wanted at most 16`},
	} {
		got, err := filter.Setups.Parse(test.text)
		var faulty *filter.Error
		if !errors.As(err, &faulty) || !errors.Is(err, store.ErrInvalidQuery) {
			t.Errorf("%.60q: got %v and error %v, wanted a *filter.Error", test.text, got, err)
			continue
		}
		if !strings.Contains(err.Error(), test.message) {
			t.Errorf("%.60q:\n got %s\nwant ...%s...", test.text, err, test.message)
		}
	}
}

// FuzzParse looks for panics, for filters that the store would refuse, and for
// messages of unbounded length.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{
		"", `shop = "ridge-cycles" AND verdict = "REJECT"`, `vin = "0VS*" OR NOT (model_year >= -2025)`,
		`create_time > timestamp("2026-11-30T12:00:00.123456789+01:00")`, `shop = 'a\x00\377\''`, `-(shop = x) market != EU`,
		`((((`, `f(a, b.c, (d = e))`, `model_year = 0x7E9`, `a.b:"*"`, "shop\n=\u00a0x",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		e, err := filter.Setups.Parse(text)
		if err != nil {
			if !errors.Is(err, store.ErrInvalidQuery) || len(err.Error()) > 2000 {
				t.Fatalf("error %v", err)
			}
			return
		}
		if err := store.CheckExpr(e); err != nil {
			t.Fatal(err)
		}
		again, err := filter.Setups.Parse(text)
		if err != nil || store.Canonical(again) != store.Canonical(e) {
			t.Fatalf("parsed twice: %v, %v", again, err)
		}
	})
}

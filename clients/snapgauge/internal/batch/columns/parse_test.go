package columns

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/document"
)

const good = `record:
  unit: {vin: {column: VIN}, model: Scree 200i, model_year: 2026, market: EU}
  phase: service
  shop: ridge-cycles
  technician: t07
  finish_time: {column: Done}
  readings:
    - {characteristic: chain_slack, value: {column: Chain}, unit: mm}
`

func TestMapFaults(t *testing.T) {
	parsed(t, good)
	with := func(old, new string) string {
		if !strings.Contains(good, old) {
			t.Fatalf("no %q", old)
		}
		return strings.Replace(good, old, new, 1)
	}
	long := func(table, readings string) string {
		return "table: {rows: readings, " + table + "}\n" +
			strings.Replace(good, "    - {characteristic: chain_slack, value: {column: Chain}, unit: mm}\n", readings, 1)
	}
	for _, test := range []struct{ text, want string }{
		{"", "map.yaml: the document is empty"},
		{"a: [", `map.yaml:1:1: a value is missing, or a sign stands`},
		{"\xff", "map.yaml:1:1: got the byte 0xFF"},
		{"a: \x00", "map.yaml:1:4: got a NUL byte"},
		{good + "---\n" + good, "map.yaml:9:1: a second document begins here"},
		{"- a", `map.yaml:1:1: got a list, want names with values`},
		{"recrod: {}", `map.yaml:1:1: there is no "recrod"; did you mean record?`},
		{"a: &x 1\nb: *x", "anchors, aliases and tags are not used here"},
		{strings.Repeat("a: {", 40) + strings.Repeat("}", 40), "nested more than 16 deep"},
		{"table: {rows: records}", "map.yaml:1:1: record: is missing"},
		{"record: {}", "map.yaml:1:1: record.unit.vin: is missing: give it a constant, or a column such as {column: NAME}"},
		{with("EU", "{column: }"), "got nothing, want text"},
		{with("EU", `{column: " "}`), "map.yaml:2:"},
		{with("EU", "{column: a, colunm: b}"), `map.yaml:2:87: record.unit.market: there is no "colunm"; did you mean column?`},
		{with("EU", "{column: [a, b]}"), `got 2 columns, want one; only a time can be in two`},
		{with("EU", "[EU]"), `record.unit.market: got a list, want a value, or a column such as {column: NAME}`},
		{with("2026", "twenty"), `record.unit.model_year: got "twenty", want a number`},
		{with("phase: service", "phase: servcie"), `map.yaml:3:10: record.phase: got "servcie"; did you mean SERVICE?`},
		{with("phase: service", "phase: {column: P, words: {PDI: pre-delivry}}"), `map.yaml:3:35: record.phase.words.PDI: got "pre-delivry"; did you mean PRE_DELIVERY?`},
		{with("{column: Done}", "02.07.2026"), `record.finish_time: got "02.07.2026", want a time such as`},
		{with("{column: Done}", "{column: Done, layout: DD.MM.YY}"), `record.finish_time.layout: has no offset (Z), so that there must be a table.time_zone`},
		{with("{column: Done}", "{column: Done, layout: dd.mm.yyyy}"), `want one such as DD.MM.YYYY hh:mm`},
		{with("{column: Done}", "{column: Done, split: x}"), `only a list is split`},
		{with("technician: t07", "technician: {column: T, layout: DD}"), `only a time has a layout`},
		{with("shop:", "shpo:"), `map.yaml:4:3: record: there is no "shpo"; did you mean shop?`},
		{with("shop:", "shop: a\n  shop:"), `map.yaml:5:3: record.shop: is given twice; first on line 4`},
		{with("model_year: 2026", "model_year: 2026, modelYear: 2026"), `record.unit.modelYear: is given twice; first on line 2`},
		{with("chain_slack", "Chain slack"), `got "Chain slack", want the identifier of a characteristic`},
		{with("unit: mm", "unit: mmm"), `map.yaml:8:67: record.readings[0].unit: `},
		{with("unit: mm", "unit: mm, pass: {column: OK}"), `record.readings[0].pass: is given beside value on line 8`},
		{with("value: {column: Chain}", "value: 5"), `record.readings[0]: has no column for its result`},
		{with("characteristic: chain_slack, ", ""), `record.readings[0].characteristic: is missing`},
		{with("chain_slack", "{column: Item}"), `got a column, want the identifier of a characteristic: a row has many readings`},
		{with("unit: mm}", "unit: mm}\n    - {characteristic: chain_slack, stage: as_left, value: {column: C}, unit: mm}"), `record.readings[1]: chain_slack is there twice; first on line 8`},
		{with("unit: mm", "unit: mm, only: [a]"), `record.readings[0].only: is for tables in which a row is a reading`},
		{good + "  options: {column: a}\n  instruments: {column: b}\n", `got a column, want a list of entries, whose fields may have columns`},
		{good + "table: {key: a}", `table.key: is for tables in which a row is a reading`},
		{good + "table: {rows: both}", `table.rows: got "both", want records`},
		{good + "table: {separator: x}", `table.separator: got "x", want comma, semicolon or tab`},
		{good + "table: {decimal: x}", `table.decimal: got "x", want point or comma`},
		{good + "table: {time_zone: Vienna}", `table.time_zone: got "Vienna", want a time zone such as Europe/Vienna or UTC`},
		{good + "table: {time_zone: Local}", `table.time_zone: got "Local"`},
		{good + "table: {time_layout: DD.MM.YYYY}", `table.time_layout: has no offset (Z), so that there must be a time_zone beside it`},
		{good + "table: {time_layout: hh:mm}", `which has no day, month or year`},
		{good + "table: {time_layout: DD.DD.YYYY MM}", `got DD twice`},
		{good + "words: {ok: perhaps}", `words.ok: got "perhaps", want true, false, or a phase`},
		{long("", "    - {characteristic: {column: a}, value: {column: b}}\n"), `table.key: is missing`},
		{long("key: a", "    - {characteristic: x, value: {column: b}}\n"), `got a constant, want a column: each row says what was read`},
		{long("key: a", "    - {characteristic: {column: a}, value: {column: b}}\n    - {characteristic: {column: a}, value: {column: b}}\n"),
			`record.readings[1]: an entry for all other characteristics is there twice`},
		{long("key: a", "    - {characteristic: {column: a}, only: [x], value: {column: b}}\n    - {characteristic: {column: a}, only: [y, x], value: {column: b}}\n"),
			`record.readings[1].only: x is there twice`},
		{strings.Repeat("a: b\n", 1) + strings.Repeat("x", 5<<20), "too large"},
	} {
		_, err := Parse([]byte(test.text), "map.yaml")
		var all document.Errors
		if !errors.As(err, &all) || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%.300s\ngot  %v\nwant %s", test.text, err, test.want)
		}
	}
}

func TestTimes(t *testing.T) {
	for _, test := range []struct{ pattern, text, want string }{
		{"", "2026-07-02T10:05:00Z", "2026-07-02T10:05:00Z"},
		{"", "2026-07-02T10:05:00.25+02:00", "2026-07-02T08:05:00.25Z"},
		{"", "2026-07-02 10:05", "2026-07-02T08:05:00Z"},
		{"", "2026-07-02 10:05:30", "2026-07-02T08:05:30Z"},
		{"", "2026-07-02", "2026-07-01T22:00:00Z"},
		{"", "2.7.2026", ""},
		{"DD.MM.YYYY hh:mm", "2.7.2026 9:05", "2026-07-02T07:05:00Z"},
		{"DD.MM.YYYY hh:mm", "32.7.2026 9:05", ""},
		{"DD.MM.YYYY hh:mm", "2.7.2026 9:05 Uhr", ""},
		{"YYYYMMDDThhmmss", "20260702T090501", "2026-07-02T07:05:01Z"},
		{"DD-MMM-YYYY hh:mm:ss AM", "02-Jul-2026 12:05:01 AM", "2026-07-01T22:05:01Z"},
		{"YYYY-MM-DD hh:mm:ss Z", "2026-07-02 10:05:00 -07:00", "2026-07-02T17:05:00Z"},
		{"YYYY-MM-DD hh:mm", "2026-10-25 03:00", "2026-10-25T02:00:00Z"},
		{"YYYY-MM-DD hh:mm", "2026-10-25 02:00", "2026-10-25T00:00:00Z"},
		{"YYYY-MM-DD hh:mm", "2026-03-29 03:00", "2026-03-29T01:00:00Z"},
		{"YYYY-MM-DD hh:mm", "2026-03-29 02:00", ""},
	} {
		l := iso
		if test.pattern != "" {
			var err error
			if l, err = newTimeLayout(test.pattern); err != nil {
				t.Errorf("%s: %v", test.pattern, err)
				continue
			}
		}
		zone := parsed(t, good+"table: {time_zone: Europe/Vienna}").zone
		got, problem := l.parse(test.text, zone)
		if text := got.UTC().Format("2006-01-02T15:04:05.999999999Z07:00"); problem == "" && text != test.want || (problem == "") != (test.want != "") {
			t.Errorf("%s in %q: got %s %s, want %s", test.text, test.pattern, text, problem, test.want)
		}
	}
}

// A day that is in no calendar is told from a text that is no day.
func TestTimesThatAreNone(t *testing.T) {
	german, err := newTimeLayout("DD.MM.YYYY hh:mm")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"31.02.2026 11:58": `got "31.02.2026 11:58", and there is no such day or hour in the form DD.MM.YYYY hh:mm`,
		"02.31.2026 11:58": `got "02.31.2026 11:58", and there is no such day or hour in the form DD.MM.YYYY hh:mm`,
		"02.03.2026":       `got "02.03.2026", want a time in the form DD.MM.YYYY hh:mm`,
	} {
		if _, got := german.parse(text, time.UTC); got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	}
	if _, got := iso.parse("2026-02-31 11:58", time.UTC); got != `got "2026-02-31 11:58", and there is no such day or hour` {
		t.Errorf("got %s", got)
	}
}

func TestNumbers(t *testing.T) {
	for _, test := range []struct {
		text  string
		comma bool
		want  string
	}{
		{"12.5", false, "12.5"}, {"-0.5", false, "-0.5"}, {"+3", false, "3"}, {".5", false, "0.5"}, {"5.", false, "5"}, {"1E+03", false, "1000"},
		{"12,5", true, "12.5"}, {"12", true, "12"}, {"\u00a012 ", false, "12"},
		{"12,5", false, ""}, {"1.234,5", true, ""}, {"1,234.5", false, ""}, {"1,2,3", true, ""}, {"12 mL", false, ""}, {"nan", false, ""},
		{"inf", false, ""}, {"0x10", false, ""}, {"1_000", false, ""}, {"1e999", false, ""}, {"-", false, ""}, {"e5", false, ""}, {"12-3", false, ""},
	} {
		c := conventions{comma: test.comma}
		x, problem := c.decimal(Text(test.text))
		if got := Number(x).String(); problem == "" && got != test.want || (problem == "") != (test.want != "") {
			t.Errorf("%q: got %s %s, want %s", test.text, got, problem, test.want)
		}
	}
}

// A map that is read can be bound and used without breaking, whatever the rows.
func FuzzMap(f *testing.F) {
	wide, long := documented(f)
	f.Add(wide, "a,b\nc")
	f.Add(long, "1,2,3\n1,2,3")
	f.Add(good+"table: {decimal: comma, empty: [x]}\nwords: {x: true}", "2026-07-02T10:05:00Z")
	f.Fuzz(func(t *testing.T, text, cells string) {
		m, err := Parse([]byte(text), "map.yaml")
		if err != nil {
			var all document.Errors
			if !errors.As(err, &all) || len(all) == 0 || len(all) > mostFaults {
				t.Errorf("got %d faults: %v", len(all), err)
			}
			return
		}
		results := 0
		table, err := m.Bind("x", m.names, func(r Result) {
			if results++; (r.Record == nil) == (r.Fault == "") {
				t.Errorf("got %v and %q", r.Record, r.Fault)
			}
		})
		if err != nil {
			return // two names that differ in case only
		}
		fields := strings.Split(cells, ",")
		for row := range 4 {
			line := make([]Cell, len(m.names))
			for i := range line {
				line[i] = Text(fields[(i*row+i)%len(fields)])
			}
			table.Row(int64(row+2), line)
		}
		table.End()
		if results == 0 || results > 4 {
			t.Errorf("got %d results", results)
		}
	})
}

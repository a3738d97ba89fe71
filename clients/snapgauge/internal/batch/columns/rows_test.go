package columns

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
)

// documented takes the maps out of the package's documentation.
func documented(t testing.TB) (wide, long string) {
	t.Helper()
	data, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	var maps []string
	inside := false
	for line := range strings.Lines(string(data)) {
		text, code := strings.CutPrefix(line, "//\t")
		switch {
		case code && !inside:
			maps = append(maps, text)
		case code:
			maps[len(maps)-1] += text
		}
		inside = code
	}
	if len(maps) < 2 {
		t.Fatalf("got %d maps", len(maps))
	}
	return maps[0], maps[1]
}

func TestARowIsARecord(t *testing.T) {
	wide, _ := documented(t)
	const header = "Nr|Fahrgestellnummer|Betriebsstunden|Auftragsart|Mechaniker|Datum|Fertig um|Zubehör|Öl vorher|Öl|Lenkung"
	results := rows(t, parsed(t, wide), header,
		"1|0VST2E3C7TA000702|0,4|übergabe|t07|02.07.2026|12:51|Motorschutz, tool_roll|600|417,5|i.O.",
		"2|0VST2E3C7TA000702||service|t07|2.7.2026|12:51||||",
		"3|0VST2E3C7TA000702|0.4|Übergab|t07|02.07.2026|25:00||viel|1|vielleicht",
		"4|0VST2E3C7TA000702",
		"5|0VST2E3C7TA000702|0|service|t07|29.03.2026|02:30||||",
		"6|0VST2E3C7TA000702|0|service|t07|25.10.2026|02:30||||NO",
	)
	const head = `
unit: {vin: 0VST2E3C7TA000702, model: Scree 200i, model_year: 2026, market: EU, hours: %s}
phase: %s
shop: ridge-cycles
technician: t07
finish_time: %s
instruments: [{id: jug-1, kind: measuring_vessel, unit: mL, max_permissible_error: 5}]
`
	for i, want := range []any{
		recordOf(t, fmt.Sprintf(head, "0.4", "handover", "2026-07-02T10:51:00Z")+`
options: [skid_plate, tool_roll]
readings:
  - {characteristic: oil_tank_fill, stage: as_found, value: 600, unit: mL, instrument: jug-1}
  - {characteristic: oil_tank_fill, stage: as_left, value: 417.5, unit: mL, instrument: jug-1}
  - {characteristic: steering_free, pass: true}`),
		recordOf(t, fmt.Sprintf(head, "", "service", "2026-07-02T10:51:00Z")),
		`column "Betriebsstunden": got "0.4", want a number such as 12,5 without points; ` +
			`column "Auftragsart": got "Übergab", want one of PRE_DELIVERY, HANDOVER, FIRST_SERVICE, SERVICE; ` +
			`column "Datum": got "02.07.2026 25:00", and there is no such day or hour in the form DD.MM.YYYY hh:mm; and 2 more`,
		`has 2 cells, want 11 as the first row has`,
		`column "Datum": got 2026-03-29 02:30:00, which the clocks of Europe/Vienna left out`,
		recordOf(t, fmt.Sprintf(head, "0", "service", "2026-10-25T00:30:00Z")+"readings: [{characteristic: steering_free, pass: false}]"),
	} {
		check(t, results[i], int64(i+2), want)
	}
}

func check(t *testing.T, got Result, row int64, want any) {
	t.Helper()
	if got.Row != row {
		t.Errorf("got row %d, want %d", got.Row, row)
	}
	switch want := want.(type) {
	case string:
		if got.Fault != want || got.Record != nil {
			t.Errorf("row %d: got  %s %v\nwant %s", row, got.Fault, got.Record, want)
		}
	case *record:
		if got.Fault != "" || !proto.Equal(got.Record, want) {
			t.Errorf("row %d: got  %s %v\nwant %v", row, got.Fault, got.Record, want)
		}
	}
}

func TestARowIsAReading(t *testing.T) {
	_, long := documented(t)
	const header = "Job|VIN|Model|Year|Job type|Tech|Closed|Item|Result|Unit|At|Tool|Tool kind"
	job := func(number int, rest string) string {
		return fmt.Sprintf("%d|0VST2E3C7TA000702|Scree 200i|2026|PDI|t07|2026-07-02T11:00:00Z|%s", number, rest)
	}
	results := rows(t, parsed(t, long), header,
		job(1, "steering_free|yes|||"+"|"),
		job(1, "oil_tank_fill|420|mL|2026-07-02 10:05Z|jug-1|measuring vessel"),
		job(1, "throttle_free_play|4.1|mm||rule-1|rule"),
		job(1, "chain_slack||mm||rule-1|rule"), // not read
		job(2, "chain_slack|36|mm||rule-1|rule"),
		job(2, "oil_tank_fill|4l|mL||rule-1|caliper"),
		job(3, "chain_slack|36|mm|||"),
		"3|0VST2E3C7TA000703|Scree 200i|2026|PDI|t07|2026-07-02T11:00:00Z|steering_free|yes||||",
		job(4, "chain_slack|36|mm|||"), // row 10
		"!",
		job(5, "chain_slack|36|mm|||"), // row 12
		job(6, "chain_slack|36|mm|||"), // row 13
		job(7, "|36|mm|||"),            // row 14
	)
	const head = `
unit: {vin: 0VST2E3C7TA000702, model: Scree 200i, model_year: 2026, market: EU}
phase: pre_delivery
shop: ridge-cycles
technician: t07
finish_time: 2026-07-02T11:00:00Z
`
	for i, want := range []struct {
		row  int64
		want any
	}{
		{2, recordOf(t, head+`
instruments: [{id: jug-1, kind: measuring_vessel}, {id: rule-1, kind: rule}]
readings:
  - {characteristic: steering_free, pass: true}
  - {characteristic: oil_tank_fill, value: 420, unit: mL, time: 2026-07-02T10:05:00Z}
  - {characteristic: throttle_free_play, value: 4.1, unit: mm}`)},
		{6, `row 7, column "Tool": rows of one record do not say the same of "rule-1"; ` +
			`row 7, oil_tank_fill, column "Result": got "4l", want a number; the unit stands in the column map, not in the cell`},
		{8, `row 9, column "VIN": got "0VST2E3C7TA000703", but row 8 of the same record has "0VST2E3C7TA000702"`},
		{10, `row 11, is broken`},
		{12, `row 11, which may belong to it, cannot be read`},
		{13, recordOf(t, head+"readings: [{characteristic: chain_slack, value: 36, unit: mm}]")},
		{14, `column "Item": is empty, but there is a result beside it`},
	} {
		if i >= len(results) {
			t.Fatalf("got %d results", len(results))
		}
		check(t, results[i], want.row, want.want)
	}
}

func TestTooManyRowsOfOneRecord(t *testing.T) {
	_, long := documented(t)
	lines := []string{"Job|VIN|Model|Year|Job type|Tech|Closed|Item|Result|Unit|At|Tool|Tool kind"}
	for range 5000 {
		lines = append(lines, "1|v|m|2026|service|t|2026-07-02T11:00:00Z|chain_slack|36|mm|||")
	}
	results := rows(t, parsed(t, long), lines...)
	if len(results) != 1 || results[0].Fault != `more than 1024 rows have the same Job` {
		t.Errorf("got %d results, %s", len(results), results[0].Fault)
	}
}

func TestFieldsOfAllKinds(t *testing.T) {
	m := parsed(t, `
table: {empty: ["-", n/a], time_zone: Europe/Vienna}
record:
  unit: {vin: {column: VIN}, model: Scree 200i, model_year: {column: Year}, market: EU}
  phase: service
  shop: ridge-cycles
  technician: t07
  finish_time: {column: Done, layout: MM/DD/YY hh:mm AM}
  start_time: 2026-07-02T10:05:00Z
  options:
    - tool_roll
    - {column: Plate, words: {yes: skid_plate, no: }}
  conditions: {column: State, split: "+", words: {kalt: engine_cold}}
  instruments:
    - {id: a, range: {lower: 0, upper: {column: Most}}, calibration_expire_time: {column: Due}}
    - {id: {column: Second}, kind: rule}
  readings:
    - characteristic: front_axle_nut
      value: {column: Nut}
      unit: N.m
      expanded_uncertainty: {column: U}
      fitted: {thread: M8x1.25, renewed: {column: New}}
      conditions: [on_wheels]
`)
	results := rows(t, m, "vin| YEAR |Done|Plate|State|Most|Due|Second|Nut|U|New",
		"123|2026|7/2/26 1:05 PM|yes|kalt + on_wheels|400|2026-09-18|rule-1|80|0.5|1",
		"124|2026|07/02/26 01:05 AM|no|-|n/a||-|N/A|0.5|",
		"125|2026|07/02/26 01:05 AM|||||||0.5|no",
		"126|2026.5|07/02/26 01:05 AM|skid|||||||",
	)
	const head = `
unit: {vin: "%d", model: Scree 200i, model_year: 2026, market: EU}
phase: service
shop: ridge-cycles
technician: t07
start_time: 2026-07-02T10:05:00Z
finish_time: %s
`
	check(t, results[0], 2, recordOf(t, fmt.Sprintf(head, 123, "2026-07-02T11:05:00Z")+`
options: [tool_roll, skid_plate]
conditions: [engine_cold, on_wheels]
instruments:
  - {id: a, range: {lower: 0, upper: 400}, calibration_expire_time: 2026-09-17T22:00:00Z}
  - {id: rule-1, kind: rule}
readings:
  - {characteristic: front_axle_nut, value: 80, unit: N.m, expanded_uncertainty: 0.5, fitted: {thread: M8x1.25, renewed: true}, conditions: [on_wheels]}`))
	check(t, results[1], 3, recordOf(t, fmt.Sprintf(head, 124, "2026-07-01T23:05:00Z")+`
options: [tool_roll]
instruments: [{id: a, range: {lower: 0}}]`))
	check(t, results[2], 4, recordOf(t, fmt.Sprintf(head, 125, "2026-07-01T23:05:00Z")+`
options: [tool_roll]
instruments: [{id: a, range: {lower: 0}}]
readings:
  - {characteristic: front_axle_nut, unit: N.m, expanded_uncertainty: 0.5, fitted: {thread: M8x1.25, renewed: false}, conditions: [on_wheels]}`))
	check(t, results[3], 5, `column "Year": got 2026.5, want a whole number`)
}

func TestBind(t *testing.T) {
	m := parsed(t, `
record:
  unit: {vin: {column: VIN}, model: {column: Modell}, model_year: 2026, market: EU}
  phase: service
  shop: ridge-cycles
  technician: {column: Tech}
  finish_time: {column: Done}
  readings:
    - {characteristic: chain_slack, value: {column: Chain}, unit: mm}
`)
	_, err := m.Bind("jobs.csv", strings.Split("Vin|VIN|Model|tech|TECH|Chain slack", "|"), nil)
	const want = `map.yaml:3:46: record.unit.model: jobs.csv has no column "Modell"; did you mean "Model"?
map.yaml:6:24: record.technician: jobs.csv has the column "Tech" more than once
map.yaml:7:25: record.finish_time: jobs.csv has no column "Done"; it has Vin, VIN, Model, tech, TECH, Chain slack
map.yaml:9:53: record.readings[0].value: jobs.csv has no column "Chain"; it has Vin, VIN, Model, tech, TECH, Chain slack`
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
}

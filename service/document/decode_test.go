package document_test

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

const goodRecord = `# A comment.
unit:
  vin: 0SGETBA2XTA000123
  model: Marten 250T
  modelYear: 2026
  market: EU
  hours: 1.5
phase: pre-delivery
shop: north
technician: 007
finish_time: 2026-03-01T10:20:00+01:00
conditions: [engine_warm, CONDITION_ON_WHEELS, Bars Straight]
instruments:
readings:
  - characteristic: idle
    value: 1.35e3
    unit: /min
    time: "2026-03-01T09:20:00.5Z"
  - characteristic: stop
    pass: true
    fitted: {property_class: 8.8, renewed: false}
  - characteristic: note
    text: |
      two
      lines
expectation:
  verdict: Reject
  codes: [below-lower-limit, 102]
`

func wantRecord() *pb.SetupRecord {
	return &pb.SetupRecord{
		Unit:       &pb.Unit{Vin: "0SGETBA2XTA000123", Model: "Marten 250T", ModelYear: 2026, Market: "EU", Hours: proto.Float64(1.5)},
		Phase:      pb.Phase_PHASE_PRE_DELIVERY,
		Shop:       "north",
		Technician: "007",
		FinishTime: timestamppb.New(time.Date(2026, 3, 1, 9, 20, 0, 0, time.UTC)),
		Conditions: []pb.Condition{pb.Condition_CONDITION_ENGINE_WARM, pb.Condition_CONDITION_ON_WHEELS, pb.Condition_CONDITION_BARS_STRAIGHT},
		Readings: []*pb.Reading{
			{Characteristic: "idle", Result: &pb.Reading_Value{Value: 1350}, Unit: "/min", Time: timestamppb.New(time.Date(2026, 3, 1, 9, 20, 0, 5e8, time.UTC))},
			{Characteristic: "stop", Result: &pb.Reading_Pass{Pass: true}, Fitted: &pb.FittedFastener{PropertyClass: "8.8", Renewed: proto.Bool(false)}},
			{Characteristic: "note", Result: &pb.Reading_Text{Text: "two\nlines\n"}},
		},
		Expectation: &pb.Expectation{
			Verdict: pb.Verdict_VERDICT_REJECT,
			Codes:   []pb.FindingCode{pb.FindingCode_FINDING_CODE_BELOW_LOWER_LIMIT, pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT},
		},
	}
}

func TestDecode(t *testing.T) {
	got := &pb.SetupRecord{Note: "from before"}
	if _, err := document.Decode([]byte(goodRecord), got, document.Options{}); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(wantRecord(), got, protocmp.Transform()); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
	for name, change := range map[string]func(string) string{
		"byte order mark": func(s string) string { return "\ufeff" + s },
		"carriage return": func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") },
		"document marks":  func(s string) string { return "---\n" + s + "...\n" },
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := document.Decode([]byte(change(goodRecord)), got, document.Options{}); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(wantRecord(), got, protocmp.Transform()); diff != "" {
				t.Errorf("want -, got +:\n%s", diff)
			}
		})
	}
}

func TestDecodeJSON(t *testing.T) {
	const text = "{\n\t\"unit\":{\"vin\":\"0SGETBA2XTA000123\",\"modelYear\":2026},\n\t\"phase\" : \"PHASE_HANDOVER\"," +
		`"note":"a \"b\" \/ \\ \u00e9 \ud83d\ude00 \\ud83d\\ude00 \t\n` + "\u2028\u0085\x7f" + `","finishTime":"2026-03-01T09:20:00Z",` +
		`"readings":[{"characteristic":"a","value":-1.5E-2},{"characteristic":"b","value":0,"expandedUncertainty":null}]}`
	want := &pb.SetupRecord{
		Unit:       &pb.Unit{Vin: "0SGETBA2XTA000123", ModelYear: 2026},
		Phase:      pb.Phase_PHASE_HANDOVER,
		Note:       `a "b" / \ é 😀 \ud83d\ude00 ` + "\t\n\u2028\u0085\x7f",
		FinishTime: timestamppb.New(time.Date(2026, 3, 1, 9, 20, 0, 0, time.UTC)),
		Readings: []*pb.Reading{
			{Characteristic: "a", Result: &pb.Reading_Value{Value: -0.015}},
			{Characteristic: "b", Result: &pb.Reading_Value{Value: 0}},
		},
	}
	got := &pb.SetupRecord{}
	if _, err := document.Decode([]byte(text), got, document.Options{}); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

func TestDecodeRefuses(t *testing.T) {
	reading := func(rest string) string { return "readings:\n  - characteristic: a\n    " + rest + "\n" }
	const want = "want a time such as 2026-03-01T09:20:00Z or 2026-03-01T10:20:00+01:00"
	for name, test := range map[string]struct{ text, want string }{
		"empty":               {"", "f: the document is empty"},
		"comments":            {"# nothing\n\n", "f: the document is empty"},
		"null":                {"---\n", "f: the document is empty"},
		"two documents":       {"note: a\n---\nnote: b\n", "f:2:1: a second document begins here; want one in a file"},
		"broken second":       {"note: a\n---\nnote: [b\n", `f:3:1: want "," or "]" in a list in brackets`},
		"invalid UTF-8":       {"note: a\nshop: x\xffy\n", "f:2:8: got the byte 0xFF, which is not UTF-8 text; save the file as UTF-8"},
		"Latin-1":             {"note: caf\xe9\n", "f:1:10: got the byte 0xE9, which is not UTF-8 text; save the file as UTF-8"},
		"NUL":                 {"note: a\n\x00\n", "f:2:1: got a NUL byte; this is not a text file"},
		"escaped NUL":         {`note: "a\0b"`, "f:1:7: note: got a NUL character in the text"},
		"control":             {"note: a\nshop: \x01\n", "f:2:7: got a control character; this is not a plain text file"},
		"scalar":              {"hello", `f:1:1: got text "hello", want fields such as unit, phase, shop`},
		"list":                {"- a", "f:1:1: got a list, want fields such as unit, phase, shop"},
		"alias":               {"shop: &s a\nnote: *s\n", "f:1:7: got the anchor &s: anchors are not used here\nf:2:7: got the alias *s: aliases are not used here; write it out"},
		"unknown alias":       {"shop: a\nnote: *bold*\n", "f:2:7: got an alias (*name) or anchor (&name): these are not used here; write it out, or put the text in quotes"},
		"merge":               {"unit:\n  <<: {vin: a}\n", "f:2:3: got a merge key <<: these are not used here; write it out"},
		"tag":                 {"note: !!binary aGk=\n", "f:1:7: got the tag !!binary: tags are not used here"},
		"own tag":             {"note: !x a\n", "f:1:7: got the tag !x: tags are not used here"},
		"swapped letters":     {"uint: a\n", `f:1:1: unknown field "uint"; did you mean unit?`},
		"unknown field":       {"unit:\n  vim: a\n", `f:2:3: unit: unknown field "vim"; did you mean vin?`},
		"far from any field":  {"expectation:\n  zzzzzzzzz: a\n", `f:2:3: expectation: unknown field "zzzzzzzzz"; want one of verdict, codes`},
		"field number":        {"12: a\n", `f:1:1: unknown field "12"; want one of unit, phase, shop, technician, start_time, finish_time, options, conditions, instruments, readings, supersedes, note and others`},
		"extension":           {"[a]: b\n", "f:1:1: got a list, want the name of a field"},
		"twice":               {"shop: a\nnote: b\nshop: c\n", "f:3:1: shop: is given twice; first on line 1"},
		"twice, two names":    {"unit: {model_year: 2026, modelYear: 2026}\n", "f:1:26: unit.model_year: is given twice; first on line 1"},
		"two of one":          {reading("value: 1\n    pass: true"), "f:4:5: readings[0].pass: is given beside value on line 3; only one of them may be"},
		"text for number":     {reading("value: abc"), `f:3:12: readings[0].value: got text "abc", want a number`},
		"quoted number":       {reading(`value: "1.5"`), `f:3:12: readings[0].value: got text "1.5", want a number; leave out the quotation marks`},
		"comma":               {reading("value: 1,5"), `f:3:12: readings[0].value: got text "1,5", want a number; the decimal sign is a point`},
		"with unit":           {reading("value: 1.5 mm"), `f:3:12: readings[0].value: got text "1.5 mm", want a number; the unit does not belong to the number`},
		"NaN":                 {reading("value: .nan"), "f:3:12: readings[0].value: got .nan, want a finite number"},
		"NaN, JSON spelling":  {reading("value: NaN"), `f:3:12: readings[0].value: got text "NaN", want a number`},
		"NaN, quoted":         {reading(`value: "NaN"`), `f:3:12: readings[0].value: got text "NaN", want a number`},
		"infinity":            {reading("value: -.INF"), "f:3:12: readings[0].value: got -.INF, want a finite number"},
		"overflow":            {reading("value: 1e999"), "f:3:12: readings[0].value: got 1e999, which is too large"},
		"octal":               {reading("value: 010"), "f:3:12: readings[0].value: got 010, want a decimal number without leading zeros"},
		"hexadecimal":         {reading("value: 0x10"), "f:3:12: readings[0].value: got 0x10, want a decimal number without leading zeros"},
		"underscores":         {reading("value: 1_000"), "f:3:12: readings[0].value: got 1_000, want a decimal number without leading zeros"},
		"list for number":     {reading("value: [1]"), "f:3:12: readings[0].value: got a list, want a number"},
		"bool for number":     {reading("value: true"), "f:3:12: readings[0].value: got true, want a number"},
		"time for number":     {reading("value: 2026-03-01"), "f:3:12: readings[0].value: got the time 2026-03-01, want a number"},
		"yes":                 {reading("pass: yes"), `f:3:11: readings[0].pass: got text "yes", want true or false`},
		"number for bool":     {reading("pass: 1"), "f:3:11: readings[0].pass: got the number 1, want true or false"},
		"fields for text":     {"note: {a: b}\n", "f:1:7: note: got fields, want text"},
		"text for list":       {"readings: a\n", `f:1:11: readings: got text "a", want a list`},
		"text for fields":     {"unit: a\n", `f:1:7: unit: got text "a", want fields such as vin, model, model_year`},
		"hole in a list":      {"options: [a, , b]\n", "f:1:1: a value is missing, or a sign stands where none can"},
		"null in a list":      {"options:\n  - a\n  -\n", "f:3:4: options[1]: is empty; want text"},
		"fraction":            {"unit: {model_year: 2026.5}\n", "f:1:20: unit.model_year: got the number 2026.5, want a whole number"},
		"large whole number":  {"unit: {model_year: 3000000000}\n", "f:1:20: unit.model_year: got 3000000000, which is too large"},
		"enum":                {"phase: pre_delivry\n", `f:1:8: phase: got "pre_delivry"; did you mean PRE_DELIVERY?`},
		"enum far":            {"phase: zzzzzzzzz\n", `f:1:8: phase: got "zzzzzzzzz", want one of PRE_DELIVERY, HANDOVER, FIRST_SERVICE, SERVICE`},
		"enum number":         {"phase: 99\n", `f:1:8: phase: got "99", want one of PRE_DELIVERY, HANDOVER, FIRST_SERVICE, SERVICE`},
		"enum list":           {"phase: [handover]\n", "f:1:8: phase: got a list, want one of PRE_DELIVERY, HANDOVER, FIRST_SERVICE, SERVICE"},
		"date":                {"finish_time: 2026-03-01\n", `f:1:14: finish_time: got "2026-03-01", ` + want},
		"time zone":           {"finish_time: 2026-03-01 09:20:00\n", `f:1:14: finish_time: got "2026-03-01 09:20:00", ` + want},
		"number for time":     {"finish_time: 1772356800\n", "f:1:14: finish_time: got the number 1772356800, " + want},
		"year":                {"finish_time: \"0000-01-01T00:00:00Z\"\n", `f:1:14: finish_time: got "0000-01-01T00:00:00Z", want a year from 1 to 9999`},
		"indentation":         {"unit:\n  vin: a\n model: b\n", "f:3:1: the indentation does not fit the lines above, or a colon is missing"},
		"tab":                 {"unit:\n\tvin: a\n", "f:2:1: got a tab or a sign that cannot stand here; indent with spaces and put the text in quotes"},
		"second colon":        {"note: a: b\n", `f:1:1: got a second ":" on one line; put the text in quotes, or begin a new line`},
		"open quotation":      {"note: \"a\nshop: b\n", "f:3:1: a quotation mark is not closed"},
		"all at once":         {"shap: a\nphase: x\nreadings:\n  - value: y\n", "f:1:1: unknown field \"shap\"; did you mean shop?\nf:2:8: phase: got \"x\", want one of PRE_DELIVERY, HANDOVER, FIRST_SERVICE, SERVICE\nf:4:12: readings[0].value: got text \"y\", want a number"},
		"nested":              {"note: " + strings.Repeat("[", 100) + strings.Repeat("]", 100), "f:1:70: nested more than 64 deep"},
		"very deep":           {"note: " + strings.Repeat("[", 20000), "f:1:1: nested too deep"},
		"lone surrogate":      {`{"note":"\ud83d"}`, `f:1:1: got a "\" in quotes that means nothing; write it twice, or use single quotes`},
		"YAML line separator": {"note: a\u2028value: b\u2028", "f:2:1: unknown field \"value\"; want one of unit, phase, shop, technician, start_time, finish_time, options, conditions, instruments, readings, supersedes, note and others"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := document.Decode([]byte(test.text), &pb.SetupRecord{}, document.Options{Name: "f"})
			if err == nil {
				t.Fatalf("got no error, want %s", test.want)
			}
			if err.Error() != test.want {
				t.Errorf("got  %v\nwant %s", err, test.want)
			}
			var one *document.Error
			if !errors.As(err, &one) {
				t.Errorf("got a %T", err)
			}
		})
	}
}

// A file that is wrong everywhere is told of for fifty lines, not for ever.
func TestDecodeManyErrors(t *testing.T) {
	var many strings.Builder
	for i := range 80 {
		fmt.Fprintf(&many, "f%d: 1\n", i)
	}
	_, err := document.Decode([]byte(many.String()), &pb.SetupRecord{}, document.Options{Name: "f"})
	var all document.Errors
	if !errors.As(err, &all) || len(all) != 50 {
		t.Errorf("got %d errors, want 50", len(all))
	}
}

func TestDecodeBomb(t *testing.T) {
	var bomb strings.Builder
	bomb.WriteString("note: a\na0: &a0 [x, x, x, x, x, x, x, x, x]\n")
	for i := range 20 {
		fmt.Fprintf(&bomb, "a%d: &a%d [*a%d, *a%[3]d, *a%[3]d, *a%[3]d, *a%[3]d, *a%[3]d, *a%[3]d, *a%[3]d, *a%[3]d]\n", i+1, i+1, i)
	}
	start := time.Now()
	_, err := document.Decode([]byte(bomb.String()), &pb.SetupRecord{}, document.Options{Name: "f"})
	if err == nil || !strings.HasPrefix(err.Error(), "f:2:5: got the anchor &a0") {
		t.Errorf("got %v", err)
	}
	var all document.Errors
	if !errors.As(err, &all) || len(all) != 2 {
		t.Errorf("got %d errors, want the first anchor and the first alias: %v", len(all), err)
	}
	if took := time.Since(start); took > time.Second {
		t.Errorf("took %v", took)
	}
}

func TestDecodeNoise(t *testing.T) {
	noise := make([]byte, 10<<20)
	chacha := rand.NewChaCha8([32]byte{1})
	_, _ = chacha.Read(noise)
	start := time.Now()
	_, err := document.Decode(noise, &pb.SetupRecord{}, document.Options{Name: "f"})
	if want := "f: too large: got 10485760 bytes, want at most 1048576"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if took := time.Since(start); took > 10*time.Millisecond {
		t.Errorf("took %v", took)
	}
	_, err = document.Decode(noise, &pb.SetupRecord{}, document.Options{Name: "f", MaxBytes: 20 << 20})
	if err == nil || !strings.Contains(err.Error(), "not UTF-8 text") && !strings.Contains(err.Error(), "NUL") {
		t.Errorf("got %v", err)
	}
}

// TestDecodeHostile gives the parser a lot of what parsers find hard.
func TestDecodeHostile(t *testing.T) {
	for _, unit := range []string{
		"[", "{", "- ", "? ", "a: ", "a:\n", "#\n", "# c\n\n", "'", "\"", "\n", " ", "|\n", ">\n", "&a ", "*a ", "!a ", "---\n",
		"- - ", "[a,", "{a: ", "- a\n", "a\n", ": ", "? a\n: b\n", "{}, ", "[a: b, ", "\"a\\\n", "%A\n", "a: |\n ", "-\n", "x #\n",
	} {
		t.Run(unit, func(t *testing.T) {
			data := bytes.Repeat([]byte(unit), 1<<18/len(unit))
			start := time.Now()
			_, err := document.Decode(data, &pb.SetupRecord{}, document.Options{})
			if err == nil {
				t.Error("got no error")
			}
			t.Logf("%v: %.120v", time.Since(start), err)
			if took := time.Since(start); took > 3*time.Second {
				t.Errorf("took %v", took)
			}
		})
	}
}

func TestLines(t *testing.T) {
	lines, err := document.Decode([]byte(goodRecord), &pb.SetupRecord{}, document.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		"":                                 "2:1 true",
		"unit":                             "2:1 true",
		"unit.vin":                         "3:8 true",
		"unit.model_year":                  "5:14 true",
		"unit.odometer_km":                 "2:1 false",
		"conditions[1]":                    "12:27 true",
		"conditions[7]":                    "12:1 false",
		"readings":                         "14:1 true",
		"readings[1]":                      "19:5 true",
		"readings[0].unit":                 "17:11 true",
		"readings[0].fitted.thread":        "15:5 false",
		`readings["stop"].pass`:            "20:11 true",
		`readings["stop"].fitted.renewed`:  "21:44 true",
		`readings["nowhere"].pass`:         "14:1 false",
		"readings[1].fitted.renewed.more":  "21:44 false",
		"instruments":                      "13:1 true",
		"instruments[0].id":                "13:1 false",
		"nothing":                          "2:1 false",
		"readings[x":                       "14:1 false",
		"expectation.codes[0]":             "28:11 true",
		"readings[99999999999999999999].a": "14:1 false",
	} {
		line, column, ok := lines.Line(path)
		if got := fmt.Sprintf("%d:%d %v", line, column, ok); got != want {
			t.Errorf("%s: got %s, want %s", path, got, want)
		}
	}
	if _, _, ok := (*document.Lines)(nil).Line("unit"); ok {
		t.Error("nil Lines found something")
	}
}

func BenchmarkDecode(b *testing.B) {
	record := wantRecord()
	for range 61 {
		record.Readings = append(record.Readings, record.Readings[0])
	}
	data, err := document.Encode(record)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := document.Decode(data, &pb.SetupRecord{}, document.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

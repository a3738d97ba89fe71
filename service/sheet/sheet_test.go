package sheet

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/internal/golden"
	"github.com/snapgauge/snapgauge/service/internal/pagetest"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

func mustHTML(t testing.TB, s *Sheet) []byte {
	t.Helper()
	data, err := s.HTML()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func mustPDF(t testing.TB, s *Sheet) []byte {
	t.Helper()
	data, err := s.PDF()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// kinds are the three sheets of a fixture.
func kinds(f *fixture, opt Options) map[string]*Sheet {
	return map[string]*Sheet{"job": f.job(opt), "filled": f.filled(opt), "handover": f.handover(opt)}
}

func TestGolden(t *testing.T) {
	for name, s := range kinds(probe(t, quantity.Metric), Options{Made: made}) {
		golden.Check(t, filepath.Join("testdata", "golden", name+".html"), mustHTML(t, s))
	}
}

// The HTML is sound, and has tables, drawings and one first heading.
func TestHTMLIsSound(t *testing.T) {
	for name, s := range kinds(probe(t, quantity.Metric), Options{Made: made}) {
		t.Run(name, func(t *testing.T) {
			html := mustHTML(t, s)
			pagetest.Sound(t, html)
			count := map[string]int{}
			pagetest.Elements(t, html, func(e xml.StartElement) { count[e.Name.Local]++ }, nil)
			if count["table"] == 0 || count["h1"] != 1 || count["svg"] == 0 {
				t.Errorf("%d tables, %d first headings, %d drawings", count["table"], count["h1"], count["svg"])
			}
		})
	}
}

// hostile is put into every text of a message.
const hostile = `</style></title><script>alert(1)</script><img src=x onerror="alert(1)">'"; } body{background:url(//x)} \ {{.}} & end` + "\x01\u202e"

// poison replaces every string of a message, except for units and references,
// without which there is nothing to draw.
func poison(m protoreflect.Message) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		name := string(f.Name())
		skip := strings.HasSuffix(name, "unit") || slices.Contains([]string{"id", "characteristic", "characteristics", "instrument", "thread"}, name)
		switch {
		case f.IsList() && f.Message() != nil:
			for i := range v.List().Len() {
				poison(v.List().Get(i).Message())
			}
		case f.IsList() && f.Kind() == protoreflect.StringKind && !skip:
			for i := range v.List().Len() {
				v.List().Set(i, protoreflect.ValueOfString(hostile))
			}
		case f.IsList() || f.IsMap():
		case f.Message() != nil:
			poison(v.Message())
		case f.Kind() == protoreflect.StringKind && !skip:
			m.Set(f, protoreflect.ValueOfString(hostile))
		}
		return true
	})
}

// Whatever the texts are, they stay texts.
func TestHostileTexts(t *testing.T) {
	f := probe(t, quantity.Metric)
	f.plan, f.rec, f.report = proto.CloneOf(f.plan), proto.CloneOf(f.rec), proto.CloneOf(f.report)
	resolved := *f.resolved
	resolved.Characteristics = nil
	for _, c := range f.resolved.Characteristics {
		c = proto.CloneOf(c)
		poison(c.ProtoReflect())
		resolved.Characteristics = append(resolved.Characteristics, c)
	}
	f.resolved = &resolved
	for _, m := range []proto.Message{f.plan, f.rec, f.report} {
		poison(m.ProtoReflect())
	}
	for name, s := range kinds(f, Options{Made: made, VIN: hostile}) {
		t.Run(name, func(t *testing.T) {
			html := mustHTML(t, s)
			var words strings.Builder
			pagetest.Elements(t, html, func(e xml.StartElement) {
				switch e.Name.Local {
				case "script", "img":
					t.Errorf("<%s> came through", e.Name.Local)
				}
				for _, a := range e.Attr {
					if strings.HasPrefix(a.Name.Local, "on") {
						t.Errorf("attribute %s came through", a.Name.Local)
					}
				}
			}, func(within, text string) {
				if within == "style" {
					if strings.Contains(text, "alert") && strings.Contains(text, "alert(") || strings.Contains(text, "url(") {
						t.Error("the style sheet holds what it should not")
					}
					return
				}
				words.WriteString(text)
			})
			if !strings.Contains(words.String(), "<script>alert(1)</script>") {
				t.Error("the text is not shown as it is")
			}
			if pdf := mustPDF(t, s); !bytes.HasPrefix(pdf, []byte("%PDF-")) {
				t.Error("no PDF")
			}
		})
	}
}

// Texts that are endless, in other scripts or not even text make a sheet all the
// same.
func TestOddTexts(t *testing.T) {
	for name, odd := range map[string]string{
		"no spaces":    strings.Repeat("x", 3000),
		"many words":   strings.Repeat("word ", 4000),
		"other script": "混合油 разных ภาษา 🏍️🔧",
		"not UTF-8":    "a\xff\xfeb",
		"empty":        "",
		"control":      "a\x00b\rc\td\u2028e\u200bf",
	} {
		t.Run(name, func(t *testing.T) {
			plan := longPlan()
			plan.Steps = plan.Steps[:3]
			plan.Machine = odd
			plan.Cautions = []string{odd, odd}
			plan.Tools = []string{odd, "spanner"}
			plan.Steps[1].DisplayName, plan.Steps[1].Method, plan.Steps[1].TargetText, plan.Steps[1].Place = odd, odd, odd, odd
			s := Job(plan, Options{Made: made, VIN: odd})
			mustHTML(t, s)
			pdf := mustPDF(t, s)
			if pages := checkPaper(t, pdf, A4); pages > 40 {
				t.Errorf("%d pages", pages)
			}
		})
	}
}

func TestPDFIsDeterministic(t *testing.T) {
	f := probe(t, quantity.Metric)
	for name, s := range kinds(f, Options{Made: made}) {
		first := mustPDF(t, s)
		var group sync.WaitGroup
		for range 4 {
			group.Go(func() {
				again, err := kinds(f, Options{Made: made})[name].PDF()
				if err != nil || !bytes.Equal(first, again) {
					t.Errorf("%s: another PDF the second time, %v", name, err)
				}
			})
		}
		group.Wait()
	}
	// Without a date too.
	if s := f.job(Options{}); !bytes.Equal(mustPDF(t, s), mustPDF(t, s)) {
		t.Error("without a date the PDF takes one from the clock")
	}
}

func TestPaper(t *testing.T) {
	f := probe(t, quantity.Metric)
	for _, paper := range []Paper{A4, Letter} {
		w, h := paper.size()
		for name, s := range kinds(f, Options{Paper: paper, Made: made}) {
			checkPaper(t, mustPDF(t, s), paper)
			if want := fmt.Sprintf("size: %gmm %gmm;", w, h); !bytes.Contains(mustHTML(t, s), []byte(want)) {
				t.Errorf("%s: no %q", name, want)
			}
		}
	}
}

// Each word of the HTML stands in the PDF too.
func TestSameWords(t *testing.T) {
	pagetest.NeedText(t)
	for name, s := range kinds(probe(t, quantity.Metric), Options{Made: made}) {
		t.Run(name, func(t *testing.T) {
			printed := strings.Join(pageTexts(t, mustPDF(t, s)), " ")
			said := map[string]bool{}
			for _, w := range strings.Fields(printed) {
				said[w] = true
			}
			pagetest.Elements(t, mustHTML(t, s), nil, func(within, text string) {
				if within == "style" || within == "title" || within == "caption" || text == "ticked: " {
					return
				}
				for _, w := range strings.Fields(text) {
					if !said[w] && !strings.Contains(printed, w) {
						t.Errorf("the PDF does not say %q of %q", w, text)
					}
				}
			})
		})
	}
}

// In the PDF no row is cut and no head stands alone.
func TestPDFPrintsWholeRows(t *testing.T) {
	pagetest.NeedText(t)
	for _, paper := range []Paper{A4, Letter} {
		checkWholeRows(t, pageTexts(t, mustPDF(t, Job(longPlan(), Options{Paper: paper, Made: made}))))
	}
}

// What a customer and a mechanic look for is there.
func TestWords(t *testing.T) {
	f := probe(t, quantity.Metric)
	sheets := kinds(f, Options{Made: made})
	for name, want := range map[string][]string{
		"job": {
			"Demonstration data", "17 boxes for the vehicle identification number", "Torque wrench", "450 mL", "New fastener for drain bolt",
			"80 mL", "Steps", "Throttle free play", "As found", "As left", "Instrument", "Initials", "After step 2.", "Checked by",
			"Level in the tank, upright and leaning 11° to the left",
		},
		"filled": {"0TMPRAAA3TA000001", "640 mL", "wrench-1", "09:10", "±4 % of the reading", "2026-12-31"},
		"handover": {
			"0TMPRAAA3TA000001", "Not accepted", "Keep this sheet", "Found and put right", "Throttle cable routing", "92.4 mL are too much",
			"Due at the first service", "Tread depth", "Tour kit: With panniers", "Let out", "Received by", "2026-04-01",
			"A plain drawing, not the tank&#39;s true shape.",
		},
	} {
		html := string(mustHTML(t, sheets[name]))
		for _, w := range want {
			if !strings.Contains(html, w) {
				t.Errorf("the %s sheet does not say %q", name, w)
			}
		}
	}
}

func TestUnits(t *testing.T) {
	html := string(mustHTML(t, probe(t, quantity.USCustomary).handover(Options{Made: made})))
	for _, want := range []string{"fl oz", "lbf", "psi", " in"} {
		if !strings.Contains(html, want) {
			t.Errorf("no %s", want)
		}
	}
	for _, not := range []string{" mL", " N·m", " kPa"} {
		if strings.Contains(html, not) {
			t.Errorf("%s in US customary units", not)
		}
	}
}

// Each verdict has its own words.
func TestVerdicts(t *testing.T) {
	f := probe(t, quantity.Metric)
	for v, want := range map[pb.Verdict]string{
		pb.Verdict_VERDICT_ACCEPT: "Accepted", pb.Verdict_VERDICT_REJECT: "Not accepted",
		pb.Verdict_VERDICT_INCOMPLETE: "Not complete", pb.Verdict_VERDICT_REFER: "To be decided", pb.Verdict_VERDICT_UNSPECIFIED: "Not judged",
	} {
		f.report = proto.CloneOf(f.report)
		f.report.Verdict = v
		if html := string(mustHTML(t, f.handover(Options{}))); !strings.Contains(html, "<h2>"+want+"</h2>") {
			t.Errorf("%v does not say %q", v, want)
		}
	}
}

// Every demonstration record makes its three sheets.
func TestDemoRecords(t *testing.T) {
	if testing.Short() {
		t.Skip("renders every record")
	}
	paths, err := filepath.Glob(demoRecords + "*.yaml")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no records: %v", err)
	}
	for i, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".yaml"), func(t *testing.T) {
			f := demo(t, path, quantity.System(i%2))
			for _, s := range kinds(f, Options{Paper: Paper(i % 2), Made: made}) {
				pagetest.Elements(t, mustHTML(t, s), nil, nil)
				checkPaper(t, mustPDF(t, s), Paper(i%2))
			}
		})
	}
}

// A plan or a record with nothing in it makes an empty sheet.
func TestNothing(t *testing.T) {
	f := probe(t, quantity.Metric)
	for _, s := range []*Sheet{
		Job(&pb.JobPlan{}, Options{}),
		JobFilled(&pb.JobPlan{}, &pb.SetupRecord{}, Options{}),
		Handover(f.rev, &spec.Resolved{}, &pb.SetupRecord{}, &pb.Report{}, Options{}),
	} {
		pagetest.Elements(t, mustHTML(t, s), nil, nil)
		mustPDF(t, s)
	}
}

func TestTargetParts(t *testing.T) {
	for said, want := range map[string]string{
		"450 mL (400 to 480 mL) of oil (JASO FD)":  "450 mL|400 to 480 mL|of oil (JASO FD)",
		"3 turns out from fully in (1 to 6 turns)": "3 turns|1 to 6 turns|out from fully in",
		"18 N·m (16 to 20 N·m), M8x1.25, 4 pieces": "18 N·m|16 to 20 N·m|M8x1.25, 4 pieces",
		"at most 9 N·m": "at most 9 N·m|",
		"1:50, that is 80 mL of oil in 4 L of fuel": "1:50|that is 80 mL of oil in 4 L of fuel",
		"112 links":                     "112 links|",
		"1.378 in (1.181 to 1.575 in)":  "1.378 in|1.181 to 1.575 in|",
		"a":                             "a|",
		"":                              "|",
		"5 mm (":                        "5 mm|",
		"5 turns in from a, b (0 to 9)": "5 turns|0 to 9|in from a, b",
	} {
		parts, rest := targetParts(said, true)
		var got []string
		for _, p := range parts {
			got = append(got, p.(text).String())
		}
		if s := strings.Join(append(got, rest), "|"); s != want {
			t.Errorf("%q: %q, want %q", said, s, want)
		}
	}
}

package auditreport

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

var (
	update = flag.Bool("update", false, "write the golden files anew")
	out    = flag.String("out", "", "write the reports, and pictures of them, to this directory")
)

// samples are the summaries of the golden files.
func samples() map[string]*pb.AuditSummary {
	return map[string]*pb.AuditSummary{"rich": rich(), "zero": zero(), "single": single(), "wordless": wordless(), "failed": failed(), "many": many()}
}

func mustHTML(t testing.TB, s *pb.AuditSummary) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := HTML(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	list := samples()
	delete(list, "wordless") // it is a part of the rich one
	delete(list, "many")     // large
	list["rich"] = fewer()
	for name, s := range list {
		path := filepath.Join("testdata", name+".html")
		got := mustHTML(t, s)
		if *update {
			if err := os.MkdirAll("testdata", 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, got, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s differs at %s; -update writes it anew", path, firstDifference(string(got), string(want)))
		}
	}
}

func firstDifference(got, want string) string {
	i := 0
	for i < min(len(got), len(want)) && got[i] == want[i] {
		i++
	}
	around := func(s string) string { return s[max(0, min(i, len(s))-40):min(len(s), i+40)] }
	return fmt.Sprintf("byte %d: got %q, want %q", i, around(got), around(want))
}

func TestSameSummarySameBytes(t *testing.T) {
	s := rich()
	before := proto.Clone(s)
	first := mustHTML(t, s)
	for range 5 {
		if !bytes.Equal(first, mustHTML(t, s)) {
			t.Fatal("one summary gave two reports")
		}
	}
	if !proto.Equal(before, s) {
		t.Error("the summary was changed")
	}
}

// A summary without anything in it, and one that is not there, have a report.
func TestNothing(t *testing.T) {
	for _, s := range []*pb.AuditSummary{nil, {}, {Options: &pb.AuditOptions{}, Characteristics: []*pb.AuditCharacteristic{{}, {Distributions: []*pb.AuditDistribution{{}}, Months: []*pb.AuditPeriod{{}}}}, Observations: []*pb.AuditObservation{{}}, Cells: []*pb.AuditCell{{}}, Tests: []*pb.AuditTest{{}}, Shops: []*pb.AuditYield{{}}}} {
		checkSound(t, mustHTML(t, s))
	}
}

func TestWriterFails(t *testing.T) {
	want := errors.New("full")
	if err := HTML(writerFunc(func([]byte) (int, error) { return 0, want }), zero()); !errors.Is(err, want) {
		t.Errorf("got %v", err)
	}
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

func TestSound(t *testing.T) {
	for name, s := range samples() {
		t.Run(name, func(t *testing.T) { checkSound(t, mustHTML(t, s)) })
	}
}

// noFigure is what a figure never looks like.
var noFigure = regexp.MustCompile(`NaN|Inf\b|[0-9]e[+-]?[0-9]{2}|%!|&lt;nil&gt;`)

// checkSound parses the report as strictly as XML. It is well-formed, says its
// language, gives an identifier once, and every reference to one has its target;
// headings leave no level out; tables have captions and heads with a scope;
// drawings are named or hidden; nothing comes from elsewhere, nothing runs, and no
// figure is one that people do not read.
func checkSound(t *testing.T, html []byte) { checkPage(t, html, noFigure) }

func checkPage(t *testing.T, html []byte, noFigure *regexp.Regexp) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(html))
	d.Entity, d.AutoClose = xml.HTMLEntity, xml.HTMLAutoClose
	ids, refs := map[string]bool{}, map[string]bool{}
	var level, tables, captions, mains int
	var lang string
	attr := func(e xml.StartElement, name string) string {
		for _, a := range e.Attr {
			if a.Name.Local == name {
				return a.Value
			}
		}
		return ""
	}
	has := func(e xml.StartElement, name string) bool {
		return slices.ContainsFunc(e.Attr, func(a xml.Attr) bool { return a.Name.Local == name })
	}
	var stack []string
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			name := e.Name.Local
			stack = append(stack, name)
			if id := attr(e, "id"); id != "" {
				if ids[id] {
					t.Errorf("identifier %q twice", id)
				}
				ids[id] = true
			}
			for _, a := range e.Attr {
				switch a.Name.Local {
				case "aria-labelledby", "aria-describedby":
					for _, id := range strings.Fields(a.Value) {
						refs[id] = true
					}
				case "href":
					id, ok := strings.CutPrefix(a.Value, "#")
					if !ok {
						t.Errorf("%s goes to %q", name, a.Value)
					}
					refs[id] = true
				case "src", "srcset", "action", "formaction", "ping", "background", "data":
					t.Errorf("%s has %s", name, a.Name.Local)
				}
				if strings.HasPrefix(a.Name.Local, "on") {
					t.Errorf("%s has %s", name, a.Name.Local)
				}
			}
			switch name {
			case "html":
				lang = attr(e, "lang")
			case "main":
				mains++
			case "script", "link", "iframe", "object", "embed", "form", "img", "image", "use", "foreignObject", "base":
				t.Errorf("there is a %s", name)
			case "h1", "h2", "h3", "h4", "h5", "h6":
				l := int(name[1] - '0')
				if l > level+1 {
					t.Errorf("%s after h%d", name, level)
				}
				level = l
			case "table":
				tables++
			case "caption":
				captions++
			case "th":
				if s := attr(e, "scope"); s != "col" && s != "row" {
					t.Errorf("th with scope %q", s)
				}
			case "svg":
				if attr(e, "aria-hidden") != "true" && (attr(e, "role") != "img" || attr(e, "aria-label") == "") {
					t.Errorf("svg neither named nor hidden: %v", e.Attr)
				}
			}
			if has(e, "tabindex") && name != "main" && (attr(e, "role") == "" || attr(e, "aria-labelledby") == "") {
				t.Errorf("%s is reached without a name", name)
			}
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		case xml.CharData:
			if len(stack) > 0 && stack[len(stack)-1] != "style" {
				if m := noFigure.Find(e); m != nil {
					t.Errorf("a text has %q: %.60q", m, e)
				}
			}
		}
	}
	for id := range refs {
		if !ids[id] {
			t.Errorf("nothing is called %q", id)
		}
	}
	if lang == "" || mains != 1 || tables != captions {
		t.Errorf("language %q, %d main, %d tables with %d captions", lang, mains, tables, captions)
	}
	if c := regexp.MustCompile(`url\(|@import|https?:`).Find(html); c != nil {
		t.Errorf("the report has %q", c)
	}
}

// Whatever is in the texts and numbers, the page stays whole, and the texts are
// there to be read.
func TestHostile(t *testing.T) {
	html := mustHTML(t, hostile())
	keep(t, "hostile.html", html)
	text := string(html)
	for _, bad := range []string{"<script", "<img", "<b onclick", "</style><style>", "\u202e", "\x00", "\x1b", "evil.invalid/x onerror=alert(1)>", "NaN", "+Inf"} {
		if strings.Contains(text, bad) {
			t.Errorf("the report has %q", bad)
		}
	}
	if !strings.Contains(text, "&lt;script&gt;alert(1)&lt;/script&gt;") {
		t.Error("a text was lost")
	}
	// Addresses may stand in the texts, and nowhere else.
	// A magnitude that no workshop has is written with an exponent.
	checkPage(t, []byte(strings.ReplaceAll(strings.ReplaceAll(text, "https://evil.invalid", ""), "url(", "")), regexp.MustCompile(`NaN|Inf\b|%!`))
}

// The report tells nothing found from not tested.
func TestToldApart(t *testing.T) {
	html := string(mustHTML(t, rich()))
	for _, want := range []string{
		"Nothing found <small>in 31\u00a0groups",
		"Not tested <small>every group too small",
		"Not tested <small>no group could show it",
		"Worth a look <small>1 of 260\u00a0groups",
		"There was no test for: times out of order and values finer than the instrument shows.",
		"It never shows that anyone did wrong",
		"&lt;\u00a00.001",
	} {
		if !strings.Contains(html, want) {
			t.Errorf("the report lacks %q", want)
		}
	}
	if html := string(mustHTML(t, wordless())); !strings.Contains(html, "Nothing was tested. That nothing is told above therefore says nothing.") {
		t.Error("a report without tests does not say so")
	}
}

// Every sign, code and verdict of the contract has words.
func TestWords(t *testing.T) {
	list := pb.AuditSign(0).Descriptor().Values()
	for i := 1; i < list.Len(); i++ {
		if _, ok := signs[pb.AuditSign(list.Get(i).Number())]; !ok {
			t.Errorf("no words for %s", list.Get(i).Name())
		}
	}
	codes := pb.FindingCode(0).Descriptor().Values()
	for i := range codes.Len() {
		if s := codeWords(pb.FindingCode(codes.Get(i).Number())); strings.Contains(s, "_") || strings.HasPrefix(s, "vin") {
			t.Errorf("%s is said %q", codes.Get(i).Name(), s)
		}
	}
}

// keep writes a file for people to look at, with -out.
func keep(t *testing.T, name string, data []byte) {
	t.Helper()
	if *out == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(*out, name), data, 0o644); err != nil {
		t.Error(err)
	}
}

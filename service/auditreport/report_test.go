package auditreport

import (
	"bytes"
	"errors"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/internal/golden"
	"github.com/snapgauge/snapgauge/service/internal/pagetest"
	"github.com/snapgauge/snapgauge/service/phrase"
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
		golden.Check(t, filepath.Join("testdata", name+".html"), mustHTML(t, s))
	}
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

// checkSound looks whether the report is sound, and no figure is one that people do
// not read.
func checkSound(t *testing.T, html []byte) { checkPage(t, html, noFigure) }

func checkPage(t *testing.T, html []byte, noFigure *regexp.Regexp) {
	t.Helper()
	pagetest.Sound(t, html)
	pagetest.Elements(t, html, nil, func(within, text string) {
		if m := noFigure.FindString(text); m != "" && within != "style" {
			t.Errorf("a text has %q: %.60q", m, text)
		}
	})
}

// Whatever is in the texts and numbers, the page stays whole, and the texts are
// there to be read.
func TestHostile(t *testing.T) {
	html := mustHTML(t, hostile())
	pagetest.Keep(t, "hostile.html", html)
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
		if s := phrase.Words(pb.FindingCode(codes.Get(i).Number())); strings.Contains(s, "_") || strings.HasPrefix(s, "vin") {
			t.Errorf("%s is said %q", codes.Get(i).Name(), s)
		}
	}
}

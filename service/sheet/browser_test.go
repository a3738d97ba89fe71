package sheet

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"github.com/snapgauge/snapgauge/service/quantity"
)

// browser starts a real browser without a network, or skips the test where there
// is none; in continuous integration there must be one. The path in CHROMIUM goes
// before the usual one.
func browser(t *testing.T) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("starts a browser")
	}
	path := os.Getenv("CHROMIUM")
	if path == "" {
		path = "/usr/bin/chromium"
	}
	if _, err := os.Stat(path); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("no browser: %v", err)
		}
		t.Skipf("no browser: %v", err)
	}
	ctx, stop := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path),
		chromedp.UserDataDir(t.TempDir()),
		chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true),
		// Whoever asks for another host gets none.
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND"),
		chromedp.WSURLReadTimeout(time.Minute),
	)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// page is a sheet's HTML opened in a tab of its own.
type page struct {
	ctx      context.Context
	messages func() []string // what the page wrote to the console
}

func open(t *testing.T, browser context.Context, s *Sheet) page {
	t.Helper()
	html, err := s.HTML()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "sheet.html")
	if err := os.WriteFile(file, html, 0o600); err != nil {
		t.Fatal(err)
	}
	tab, stop := chromedp.NewContext(browser)
	t.Cleanup(stop)
	listening, deaf := context.WithCancel(tab)
	messages := chromedp.Console(listening)
	if err := chromedp.Do(tab, chromedp.Navigate("file://"+file)); err != nil {
		t.Fatal(err)
	}
	return page{ctx: tab, messages: func() []string {
		deaf()
		var out []string
		for m, err := range messages {
			if err != nil {
				break
			}
			out = append(out, m.String())
		}
		return out
	}}
}

// The elements that reach beyond the window, and the drawings' texts that reach
// beyond their drawing.
const overflowing = `(() => {
	const out = [];
	const wide = document.documentElement.clientWidth;
	if (document.documentElement.scrollWidth > wide) out.push("document is " + document.documentElement.scrollWidth + " wide");
	for (const e of document.querySelectorAll("main *")) {
		if (e.closest("caption, .unseen, svg")) continue;
		const r = e.getBoundingClientRect();
		if (r.width > 0 && (r.right > wide + 0.5 || r.left < -0.5)) out.push(e.tagName + " " + e.className + " reaches " + r.right + ": " + e.textContent.slice(0, 40));
	}
	for (const e of document.querySelectorAll("svg text")) {
		const b = e.getBBox(), v = e.ownerSVGElement.viewBox.baseVal;
		if (b.x < -0.3 || b.x + b.width > v.width + 0.3 || b.y < -0.5 || b.y + b.height > v.height + 0.8)
			out.push("text " + e.textContent + " at " + [b.x, b.y, b.width, b.height].map(n => n.toFixed(2)) + " of " + [v.width, v.height]);
	}
	return out.slice(0, 8);
})()`

// clipped are the cells whose content is wider than they are.
const clipped = `[...document.querySelectorAll("th, td, dd, li")].filter(e => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0).map(e => e.textContent.slice(0, 40)).slice(0, 8)`

func TestBrowser(t *testing.T) {
	ctx := browser(t)
	fixtures := map[string]*fixture{
		"probe":    probe(t, quantity.Metric),
		"delivery": demo(t, demoRecords+"delivery-causeway.yaml", quantity.USCustomary),
		"overfull": demo(t, demoRecords+"oil-tank-overfilled.yaml", quantity.Metric),
	}
	for _, name := range []string{"probe", "delivery", "overfull"} {
		f := fixtures[name]
		for _, paper := range []Paper{A4, Letter} {
			opt := Options{Paper: paper, Made: made}
			for kind, s := range map[string]*Sheet{"job": f.job(opt), "filled": f.filled(opt), "handover": f.handover(opt)} {
				id := name + "-" + kind + "-" + strings.ToLower(paper.String())
				t.Run(id, func(t *testing.T) {
					p := open(t, ctx, s)
					title, err := chromedp.Run(p.ctx, chromedp.Title())
					if err != nil || title != s.Title() {
						t.Errorf("title %q, %v", title, err)
					}
					for _, width := range []int64{1200, 800, 400} {
						if err := chromedp.Do(p.ctx, chromedp.EmulateViewport(width, 900)); err != nil {
							t.Fatal(err)
						}
						for _, script := range []string{overflowing, clipped} {
							over, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](script))
							if err != nil {
								t.Fatal(err)
							}
							for _, o := range over {
								t.Errorf("at %d px: %s", width, o)
							}
						}
						picture, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
						if err != nil {
							t.Fatal(err)
						}
						if !bytes.HasPrefix(picture, []byte("\x89PNG")) {
							t.Error("the screenshot is no PNG")
						}
						keep(t, fmt.Sprintf("%s-%dpx.png", id, width), picture)
					}
					checkDark(t, p, id)
					pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
					if err != nil {
						t.Fatal(err)
					}
					keep(t, id+"-chromium.pdf", pdf)
					pages := checkPaper(t, pdf, paper)
					own, err := s.PDF()
					if err != nil {
						t.Fatal(err)
					}
					if ours := len(mediaBoxes(own)); pages > ours+ours/4+1 || ours > pages+pages/4+1 {
						t.Errorf("the browser prints %d pages, the PDF has %d", pages, ours)
					}
					for _, m := range p.messages() {
						t.Errorf("console: %s", m)
					}
				})
			}
		}
	}
}

// checkDark looks at the page as someone does who prefers dark ones. The page stays
// so, since what is printed of it is black on white all the same.
func checkDark(t *testing.T, p page, id string) {
	t.Helper()
	prefer := func(scheme string) {
		if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
		}); err != nil {
			t.Fatal(err)
		}
	}
	colours := func() []string {
		got, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](
			`[document.documentElement, document.querySelector("h1")].map((e, i) => getComputedStyle(e)[i ? "color" : "backgroundColor"])`))
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	if got, want := colours(), []string{"rgb(255, 255, 255)", "rgb(0, 0, 0)"}; !slices.Equal(got, want) {
		t.Errorf("light: ground and text are %v, wanted %v", got, want)
	}
	prefer("dark")
	if got, want := colours(), []string{"rgb(22, 22, 22)", "rgb(232, 232, 232)"}; !slices.Equal(got, want) {
		t.Errorf("dark: ground and text are %v, wanted %v", got, want)
	}
	picture, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	keep(t, id+"-dark.png", picture)
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

var mediaBox = regexp.MustCompile(`/MediaBox ?\[0 0 ([0-9.]+) ([0-9.]+)\]`)

// mediaBoxes are the sizes of a file's pages in points. A box that pages inherit
// counts once for each of them.
func mediaBoxes(pdf []byte) [][2]float64 {
	var out [][2]float64
	for _, m := range mediaBox.FindAllSubmatch(pdf, -1) {
		w, _ := strconv.ParseFloat(string(m[1]), 64)
		h, _ := strconv.ParseFloat(string(m[2]), 64)
		out = append(out, [2]float64{w, h})
	}
	if pages := len(regexp.MustCompile(`/Type ?/Page\b[^s]`).FindAll(pdf, -1)); len(out) == 1 {
		for len(out) < pages {
			out = append(out, out[0])
		}
	}
	return out
}

// checkPaper checks the size of each page, and returns how many there are.
func checkPaper(t *testing.T, pdf []byte, paper Paper) int {
	t.Helper()
	w, h := paper.size()
	boxes := mediaBoxes(pdf)
	for _, b := range boxes {
		// A browser lays out in whole pixels of 1/96 in.
		if math.Abs(b[0]-w/mmPerPoint) > 1.5 || math.Abs(b[1]-h/mmPerPoint) > 1.5 {
			t.Errorf("a page is %v points, wanted %s", b, paper)
		}
	}
	if len(boxes) == 0 {
		t.Error("no pages")
	}
	return len(boxes)
}

// In print no row is cut, no head of a table stands alone at a page's foot, and
// each page is numbered: told by the words of each page.
func TestBrowserPrintsWholeRows(t *testing.T) {
	ctx := browser(t)
	pdftotext(t)
	for _, paper := range []Paper{A4, Letter} {
		p := open(t, ctx, Job(longPlan(), Options{Paper: paper, Made: made}))
		pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
		if err != nil {
			t.Fatal(err)
		}
		keep(t, "long-"+paper.String()+"-chromium.pdf", pdf)
		checkWholeRows(t, pageTexts(t, pdf))
	}
}

// pdftotext skips the test where the program is missing.
func pdftotext(t *testing.T) {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
}

// pageTexts gives the words of each page in the order in which they are drawn.
func pageTexts(t *testing.T, pdf []byte) []string {
	t.Helper()
	cmd := exec.Command("pdftotext", "-raw", "-enc", "UTF-8", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
	for i := range pages {
		pages[i] = strings.Join(strings.Fields(pages[i]), " ")
	}
	return pages
}

// checkWholeRows checks pages of the longPlan.
func checkWholeRows(t *testing.T, pages []string) {
	t.Helper()
	on := func(words string) int {
		return slices.IndexFunc(pages, func(p string) bool { return strings.Contains(p, words) })
	}
	for i := range longSteps {
		first, last := on(stepBegins(i)), on(stepEnds(i))
		if first < 0 || first != last {
			t.Errorf("step %d begins on page %d and ends on page %d", i+1, first+1, last+1)
		}
		if i%longPlace == 0 {
			if head := on(placeBegins(i)); head != first {
				t.Errorf("the head of %s stands on page %d, its first row on page %d", placeBegins(i), head+1, first+1)
			}
		}
	}
	for i, p := range pages {
		if want := fmt.Sprintf("page %d of %d", i+1, len(pages)); !strings.Contains(p, want) {
			t.Errorf("page %d does not say %q", i+1, want)
		}
		if !strings.Contains(p, longMachine) {
			t.Errorf("page %d does not name the machine", i+1)
		}
	}
	if len(pages) < 4 || len(pages) > 12 {
		t.Errorf("%d pages", len(pages))
	}
}

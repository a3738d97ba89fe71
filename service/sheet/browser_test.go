package sheet

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"github.com/snapgauge/snapgauge/service/internal/pagetest"
	"github.com/snapgauge/snapgauge/service/quantity"
)

func open(t *testing.T, browser context.Context, s *Sheet) pagetest.Page {
	t.Helper()
	return pagetest.Open(t, browser, mustHTML(t, s))
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
	ctx := pagetest.Browser(t)
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
					if title := pagetest.Eval[string](p, "document.title"); title != s.Title() {
						t.Errorf("title %q", title)
					}
					for _, width := range []int64{1200, 800, 400} {
						p.Width(width)
						for _, script := range []string{overflowing, clipped} {
							for _, o := range pagetest.Eval[[]string](p, script) {
								t.Errorf("at %d px: %s", width, o)
							}
						}
						picture, err := chromedp.Run(p.Context, chromedp.FullScreenshot(100))
						if err != nil {
							t.Fatal(err)
						}
						if !bytes.HasPrefix(picture, []byte("\x89PNG")) {
							t.Error("the screenshot is no PNG")
						}
						pagetest.Keep(t, fmt.Sprintf("%s-%dpx.png", id, width), picture)
					}
					checkDark(t, p, id)
					pdf := p.Print()
					pagetest.Keep(t, id+"-chromium.pdf", pdf)
					pages := checkPaper(t, pdf, paper)
					if ours := len(pagetest.Sizes(mustPDF(t, s))); pages > ours+ours/4+1 || ours > pages+pages/4+1 {
						t.Errorf("the browser prints %d pages, the PDF has %d", pages, ours)
					}
					for _, m := range p.Messages() {
						t.Errorf("console: %s", m)
					}
				})
			}
		}
	}
}

// checkDark looks at the page as someone does who prefers dark ones. The page stays
// so, since what is printed of it is black on white all the same.
func checkDark(t *testing.T, p pagetest.Page, id string) {
	t.Helper()
	colours := func() []string {
		return pagetest.Eval[[]string](p,
			`[document.documentElement, document.querySelector("h1")].map((e, i) => getComputedStyle(e)[i ? "color" : "backgroundColor"])`)
	}
	if got, want := colours(), []string{"rgb(255, 255, 255)", "rgb(0, 0, 0)"}; !slices.Equal(got, want) {
		t.Errorf("light: ground and text are %v, wanted %v", got, want)
	}
	p.Prefer("dark", "")
	if got, want := colours(), []string{"rgb(22, 22, 22)", "rgb(232, 232, 232)"}; !slices.Equal(got, want) {
		t.Errorf("dark: ground and text are %v, wanted %v", got, want)
	}
	picture, err := chromedp.Run(p.Context, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	pagetest.Keep(t, id+"-dark.png", picture)
}

// checkPaper checks the size of each page, and returns how many there are.
func checkPaper(t *testing.T, pdf []byte, paper Paper) int {
	t.Helper()
	w, h := paper.size()
	boxes := pagetest.Sizes(pdf)
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
	ctx := pagetest.Browser(t)
	pagetest.NeedText(t)
	for _, paper := range []Paper{A4, Letter} {
		p := open(t, ctx, Job(longPlan(), Options{Paper: paper, Made: made}))
		pdf := p.Print()
		pagetest.Keep(t, "long-"+paper.String()+"-chromium.pdf", pdf)
		checkWholeRows(t, pageTexts(t, pdf))
	}
}

// pageTexts gives the words of each page in the order in which they are drawn, with
// one space between them.
func pageTexts(t *testing.T, pdf []byte) []string {
	t.Helper()
	pages := pagetest.Texts(t, pdf, "-raw")
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

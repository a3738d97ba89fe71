package auditreport

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/accessibility"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/internal/pagetest"
)

func open(t *testing.T, browser context.Context, s *pb.AuditSummary) pagetest.Page {
	t.Helper()
	return pagetest.Open(t, browser, mustHTML(t, s))
}

// unfold opens or closes whatever is folded.
func unfold(p pagetest.Page, open bool) {
	pagetest.Eval[int](p, fmt.Sprintf(`(() => { const l = document.querySelectorAll("details"); for (const d of l) d.open = %v; return l.length })()`, open))
}

// pictures keeps the whole page, in parts that a browser can draw.
func pictures(p pagetest.Page, name string, width int64) {
	p.T.Helper()
	if !pagetest.Keeping() {
		return
	}
	height := pagetest.Eval[float64](p, `document.documentElement.scrollHeight`)
	const most = 1500.0
	for i, y := 1, 0.0; y < height; i, y = i+1, y+most {
		got, err := chromedp.Call(p.Context, cdppage.CaptureScreenshot, cdppage.CaptureScreenshotParams{
			Clip:                  &cdppage.Viewport{X: 0, Y: y, Width: float64(width), Height: min(most, height-y), Scale: 1},
			CaptureBeyondViewport: new(true),
		})
		if err != nil {
			p.T.Fatal(err)
		}
		pagetest.Keep(p.T, fmt.Sprintf("%s-%02d.png", name, i), got.Data)
	}
}

// overflowing are the elements that reach beyond the window, unless they move in a
// box of their own, what is wider than the box it is in, and the drawings' texts
// that leave their drawing or run into each other.
const overflowing = `(() => {
	const out = [];
	const wide = document.documentElement.clientWidth;
	if (document.documentElement.scrollWidth > wide) out.push("document is " + document.documentElement.scrollWidth + " wide");
	for (const e of document.querySelectorAll("body *")) {
		if (e.closest(".scroll table, .unseen, .skip, svg")) continue;
		const r = e.getBoundingClientRect();
		if (r.width > 0 && (r.right > wide + 0.5 || r.left < -0.5)) out.push(e.tagName + " " + e.className + " reaches " + r.right + ": " + e.textContent.slice(0, 40));
	}
	for (const e of document.querySelectorAll("th, td, dd, dt, li, p, summary, figcaption, h1, h3, h4")) {
		if (e.closest(".unseen, svg") || e.clientWidth == 0 || getComputedStyle(e).display == "inline") continue;
		if (e.scrollWidth > e.clientWidth + 1) out.push("content wider than " + e.tagName + " " + e.className + ": " + e.textContent.slice(0, 40));
	}
	for (const s of document.querySelectorAll("svg")) {
		const boxes = [], v = s.viewBox.baseVal;
		for (const e of s.querySelectorAll("text")) {
			if (e.getClientRects().length == 0) continue;
			const b = e.getBBox();
			if (b.x < -0.5 || b.x + b.width > v.width + 0.5 || b.y < -1 || b.y + b.height > v.height + 1)
				out.push("text " + e.textContent + " at " + [b.x, b.y, b.width, b.height].map(n => n.toFixed(1)) + " of " + [v.width, v.height]);
			for (const [c, said] of boxes)
				if (b.x < c.x + c.width && c.x < b.x + b.width && b.y + 2 < c.y + c.height - 2 && c.y + 2 < b.y + b.height - 2)
					out.push("text " + e.textContent + " runs into " + said + " in " + s.textContent.slice(0, 40));
			boxes.push([b, e.textContent]);
		}
	}
	return out.slice(0, 10);
})()`

// weak are the texts whose contrast with what is behind them is below 4.5, and the
// marks that tell something whose contrast is below 3, by the styles that the
// browser computed.
const weak = `(() => {
	const parse = c => { const m = c.match(/[0-9.]+/g); return m && m.length >= 3 ? m.map(Number) : [0, 0, 0, 0]; };
	const part = v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
	const light = c => 0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2]);
	const contrast = (a, b) => { const x = light(a), y = light(b); return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05); };
	const clear = c => c.length > 3 && c[3] === 0;
	const behind = e => {
		for (; e; e = e.parentElement) {
			const c = parse(getComputedStyle(e).backgroundColor);
			if (!clear(c)) { if (c.length > 3 && c[3] < 1) throw "half transparent: " + e.className; return c; }
		}
		return [255, 255, 255];
	};
	const out = new Set();
	let texts = 0, marks = 0;
	const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	for (let n; n = walker.nextNode();) {
		const e = n.parentElement;
		if (!n.data.trim() || e.closest("title, desc, .unseen") || e.getClientRects().length == 0) continue;
		const svg = e.closest("svg"), s = getComputedStyle(e);
		const ratio = contrast(parse(svg ? s.fill : s.color), behind(svg ? svg.parentElement : e));
		texts++;
		if (ratio < 4.5) out.add("text " + ratio.toFixed(2) + " in " + e.tagName + "." + (svg ? e.getAttribute("class") : e.className) + ": " + n.data.slice(0, 30));
	}
	// Lines that only guide the eye, areas that an outline or limits enclose, and
	// what is cut out of a mark.
	const guides = ".grid, .half, .found, .band, .casing, .hole";
	for (const e of document.querySelectorAll("svg path")) {
		if (e.matches(guides) || e.getClientRects().length == 0) continue;
		const s = getComputedStyle(e), b = behind(e.closest("svg").parentElement);
		const ratio = Math.max(...[s.fill, s.stroke].filter(c => c != "none").map(c => contrast(parse(c), b)));
		marks++;
		if (ratio < 3) out.add("mark " + ratio.toFixed(2) + ": " + e.tagName + "." + (e.getAttribute("class") || "path"));
	}
	for (const e of document.querySelectorAll(".k, .strip span")) {
		if (e.matches(".dotkey, .totalkey")) continue;
		const s = getComputedStyle(e), b = behind(e.parentElement), found = [];
		if (s.borderTopStyle != "none") found.push(contrast(parse(s.borderTopColor), b));
		if (!clear(parse(s.backgroundColor))) found.push(contrast(parse(s.backgroundColor), b));
		marks++;
		if (Math.max(...found) < 3) out.add("mark " + Math.max(...found).toFixed(2) + ": " + e.className);
	}
	return [texts + " texts, " + marks + " marks", ...out];
})()`

func TestBrowser(t *testing.T) {
	ctx := pagetest.Browser(t)
	for _, c := range []struct {
		name    string
		summary *pb.AuditSummary
	}{{"rich", rich()}, {"single", single()}, {"zero", zero()}, {"hostile", hostile()}, {"failed", failed()}, {"many", many()}, {"hostile-many", spoil(many())}} {
		t.Run(c.name, func(t *testing.T) {
			p := open(t, ctx, c.summary)
			for _, open := range []bool{false, true} {
				unfold(p, open)
				for _, width := range []int64{1280, 800, 400} {
					p.Width(width)
					for _, o := range pagetest.Eval[[]string](p, overflowing) {
						t.Errorf("at %d px, unfolded %v: %s", width, open, o)
					}
					if !open {
						pictures(p, fmt.Sprintf("%s-light-%d", c.name, width), width)
					}
				}
			}
			for _, scheme := range []string{"light", "dark"} {
				p.Prefer(scheme, "")
				got := pagetest.Eval[[]string](p, weak)
				t.Logf("%s: %s", scheme, got[0])
				for _, w := range got[1:] {
					t.Errorf("%s: %s", scheme, w)
				}
			}
			unfold(p, false)
			if pagetest.Keeping() {
				for _, width := range []int64{1280, 400} {
					p.Width(width)
					pictures(p, fmt.Sprintf("%s-dark-%d", c.name, width), width)
				}
			}
			for _, m := range p.Messages() {
				t.Errorf("console: %s", m)
			}
			if r := p.Requests(); len(r) != 1 || !strings.HasPrefix(r[0], "file://") {
				t.Errorf("the page asked for %v", r)
			}
		})
	}
}

// Light and dark are two schemes, and what is printed is black on white in both.
func TestBrowserSchemes(t *testing.T) {
	p := open(t, pagetest.Browser(t), zero())
	ground := `getComputedStyle(document.documentElement).backgroundColor`
	for scheme, want := range map[string]string{"light": "rgb(255, 255, 255)", "dark": "rgb(20, 23, 26)"} {
		p.Prefer(scheme, "")
		if got := pagetest.Eval[string](p, ground); got != want {
			t.Errorf("%s: the ground is %s, wanted %s", scheme, got, want)
		}
	}
	p.Prefer("dark", "print")
	if got := pagetest.Eval[[]string](p, `[`+ground+`, getComputedStyle(document.querySelector("h1")).color]`); got[0] != "rgb(255, 255, 255)" || got[1] != "rgb(0, 0, 0)" {
		t.Errorf("printed: ground and ink are %v", got)
	}
}

// focused is what has the focus: its place among what should get it, how well that
// is seen, and whether it is on the screen.
const focused = `(() => {
	const e = document.activeElement, s = getComputedStyle(e), r = e.getBoundingClientRect();
	return {
		Place: window.stops.indexOf(e), What: e.tagName + " " + e.textContent.slice(0, 30),
		Outline: s.outlineStyle == "none" ? 0 : parseFloat(s.outlineWidth),
		Seen: r.width > 0 && r.bottom > 0 && r.top < innerHeight && r.right > 0 && r.left < innerWidth,
	};
})()`

// Tab goes to everything that can be used, in the order in which it is read, and
// shows where it is.
func TestBrowserKeyboard(t *testing.T) {
	p := open(t, pagetest.Browser(t), fewer())
	for _, width := range []int64{1280, 400} {
		if err := chromedp.Do(p.Context, chromedp.Reload()); err != nil { // begin from the top
			t.Fatal(err)
		}
		p.Width(width)
		n := pagetest.Eval[int](p, `(() => {
			window.stops = [...document.querySelectorAll("a[href], summary, [tabindex='0']")].filter(e => e.checkVisibility());
			return window.stops.length;
		})()`)
		if n < 40 {
			t.Fatalf("only %d stops", n)
		}
		for i := range n {
			if err := chromedp.Do(p.Context, chromedp.KeyEvent(kb.Tab)); err != nil {
				t.Fatal(err)
			}
			got := pagetest.Eval[struct {
				Place   int
				What    string
				Outline float64
				Seen    bool
			}](p, focused)
			if got.Place != i || got.Outline < 2 || !got.Seen {
				t.Fatalf("at %d px, stop %d of %d is %+v", width, i, n, got)
			}
		}
	}
	// The skip link skips, and a folded part opens by key.
	pagetest.Eval[int](p, `(() => { document.querySelector(".skip").focus(); return 0 })()`)
	if err := chromedp.Do(p.Context, chromedp.KeyEvent(kb.Enter)); err != nil {
		t.Fatal(err)
	}
	if got := pagetest.Eval[string](p, `document.activeElement.id`); got != "report" {
		t.Errorf("the skip link leads to %q", got)
	}
	pagetest.Eval[int](p, `(() => { document.querySelector("summary").focus(); return 0 })()`)
	if err := chromedp.Do(p.Context, chromedp.KeyEvent(kb.Enter)); err != nil {
		t.Fatal(err)
	}
	if !pagetest.Eval[bool](p, `document.querySelector("details").open`) {
		t.Error("a folded part does not open by key")
	}
}

// A link to what is folded opens it.
func TestBrowserLinkOpens(t *testing.T) {
	p := open(t, pagetest.Browser(t), many())
	id := drawnID(shownCharacteristics + 2)
	folded := fmt.Sprintf(`document.getElementById(%q).closest("details").open`, id)
	if pagetest.Eval[bool](p, folded) {
		t.Fatal("it is open from the start")
	}
	pagetest.Eval[int](p, fmt.Sprintf(`(() => { document.querySelector("a[href='#%s']").click(); return 0 })()`, id))
	if !pagetest.Eval[bool](p, folded) {
		t.Error("the link does not open it")
	}
}

// named are the roles that say nothing without a name.
var named = map[string]bool{
	"link": true, "heading": true, "image": true, "img": true, "table": true, "group": false, "navigation": true, "region": true,
	"DisclosureTriangle": true, "columnheader": true, "rowheader": true, "RootWebArea": true,
}

// What is read by ear has names, and drawings have their figures.
func TestBrowserAccessibilityTree(t *testing.T) {
	p := open(t, pagetest.Browser(t), fewer())
	unfold(p, true)
	tree, err := chromedp.Call(p.Context, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	if err != nil {
		t.Fatal(err)
	}
	said := func(v *accessibility.Value) string {
		if v == nil {
			return ""
		}
		return strings.Trim(string(v.Value), `"`)
	}
	roles := map[string]int{}
	var dump bytes.Buffer
	for _, n := range tree.Nodes {
		if n.Ignored {
			continue
		}
		role, name, description := said(n.Role), said(n.Name), said(n.Description)
		roles[role]++
		if role != "InlineTextBox" && role != "StaticText" {
			fmt.Fprintf(&dump, "%s %q %q\n", role, name, description)
		}
		if named[role] && strings.TrimSpace(name) == "" {
			t.Errorf("a %s has no name: %q", role, description)
		}
		for _, prop := range n.Properties {
			if string(prop.Name) == "focusable" && said(prop.Value) == "true" && role != "main" && name == "" {
				t.Errorf("a %s that gets the focus has no name", role)
			}
		}
		if (role == "image" || role == "img") && description == "" && !strings.Contains(name, "%") {
			t.Errorf("the image %q has no figures", name)
		}
	}
	pagetest.Keep(t, "accessibility.txt", dump.Bytes())
	for _, role := range []string{"banner", "navigation", "main", "contentinfo"} {
		if roles[role] != 1 {
			t.Errorf("there are %d of %s", roles[role], role)
		}
	}
	// The strip of verdicts and the shares of observations; beside every other
	// drawing stands a table.
	if roles["image"]+roles["img"] < 4 || roles["table"] < 20 || roles["heading"] < 20 {
		t.Errorf("too little: %v", roles)
	}
}

// On A4 nothing is cut off at the side, and each page has its number.
func TestBrowserPrints(t *testing.T) {
	ctx := pagetest.Browser(t)
	pagetest.NeedText(t)
	p := open(t, ctx, rich())
	p.Prefer("dark", "")
	pdf := p.Print(chromedp.PDFPaper(chromedp.PaperA4))
	pagetest.Keep(t, "rich.pdf", pdf)
	pages := pagetest.Texts(t, pdf, "-layout")
	if len(pages) < 6 || len(pages) > 24 {
		t.Errorf("%d pages", len(pages))
	}
	for i, words := range pages {
		if want := fmt.Sprintf("page %d of %d", i+1, len(pages)); !strings.Contains(words, want) {
			t.Errorf("page %d does not say %q", i+1, want)
		}
		if !strings.Contains(words, "Varnholt, set-ups") {
			t.Errorf("page %d does not say what the report is of", i+1)
		}
	}
	for _, want := range []string{"It never shows that anyone did wrong", "What was tested", "Nothing found"} {
		if !strings.Contains(strings.Join(pages, "\f"), want) {
			t.Errorf("printed, the report lacks %q", want)
		}
	}
	for _, size := range pagetest.Sizes(pdf) {
		if math.Abs(size[0]-595.3) > 1.5 || math.Abs(size[1]-841.9) > 1.5 {
			t.Errorf("a page is %v points", size)
		}
	}
	// In the width of the paper within its margins nothing sticks out.
	const across = 695 // pixels: 210 mm less twice 13 mm
	for _, p := range []pagetest.Page{p, open(t, ctx, many())} {
		p.Prefer("", "print")
		unfold(p, true)
		p.Width(across)
		for _, o := range pagetest.Eval[[]string](p, strings.ReplaceAll(overflowing, ".scroll table, ", "")) {
			t.Errorf("printed: %s", o)
		}
	}
}

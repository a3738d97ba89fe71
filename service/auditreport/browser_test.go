package auditreport

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
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

// page is a report opened in a tab of its own.
type page struct {
	t   *testing.T
	ctx context.Context
	// messages gives what the page wrote to the console, once.
	messages func() []string
	// requests gives what the page asked for.
	requests func() []string
}

func open(t *testing.T, browser context.Context, s *pb.AuditSummary) page {
	t.Helper()
	file := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(file, mustHTML(t, s), 0o600); err != nil {
		t.Fatal(err)
	}
	tab, stop := chromedp.NewContext(browser)
	t.Cleanup(stop)
	listening, deaf := context.WithCancel(tab)
	messages := chromedp.Console(listening)
	var lock sync.Mutex
	var asked []string
	if err := chromedp.Listen(tab, func(ev any) {
		if r, ok := ev.(*network.EventRequestWillBeSent); ok {
			lock.Lock()
			defer lock.Unlock()
			asked = append(asked, r.Request.URL)
		}
	}); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(tab, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(tab, chromedp.Navigate("file://"+file)); err != nil {
		t.Fatal(err)
	}
	return page{
		t: t, ctx: tab,
		messages: func() []string {
			deaf()
			var out []string
			for m, err := range messages {
				if err != nil {
					break
				}
				out = append(out, m.String())
			}
			return out
		},
		requests: func() []string {
			lock.Lock()
			defer lock.Unlock()
			return asked
		},
	}
}

func eval[T any](p page, script string) T {
	p.t.Helper()
	got, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](script))
	if err != nil {
		p.t.Fatal(err)
	}
	return got
}

func (p page) width(px int64) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, chromedp.EmulateViewport(px, 900)); err != nil {
		p.t.Fatal(err)
	}
}

func (p page) prefer(scheme string) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	}); err != nil {
		p.t.Fatal(err)
	}
}

// unfold opens or closes whatever is folded.
func (p page) unfold(open bool) {
	eval[int](p, fmt.Sprintf(`(() => { const l = document.querySelectorAll("details"); for (const d of l) d.open = %v; return l.length })()`, open))
}

// pictures keeps the whole page, in parts that a browser can draw.
func (p page) pictures(name string, width int64) {
	p.t.Helper()
	if *out == "" {
		return
	}
	height := eval[float64](p, `document.documentElement.scrollHeight`)
	const most = 1500.0
	for i, y := 1, 0.0; y < height; i, y = i+1, y+most {
		got, err := chromedp.Call(p.ctx, cdppage.CaptureScreenshot, cdppage.CaptureScreenshotParams{
			Clip:                  &cdppage.Viewport{X: 0, Y: y, Width: float64(width), Height: min(most, height-y), Scale: 1},
			CaptureBeyondViewport: new(true),
		})
		if err != nil {
			p.t.Fatal(err)
		}
		keep(p.t, fmt.Sprintf("%s-%02d.png", name, i), got.Data)
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
	ctx := browser(t)
	for _, c := range []struct {
		name    string
		summary *pb.AuditSummary
	}{{"rich", rich()}, {"single", single()}, {"zero", zero()}, {"hostile", hostile()}, {"failed", failed()}, {"many", many()}, {"hostile-many", spoil(many())}} {
		t.Run(c.name, func(t *testing.T) {
			p := open(t, ctx, c.summary)
			for _, open := range []bool{false, true} {
				p.unfold(open)
				for _, width := range []int64{1280, 800, 400} {
					p.width(width)
					for _, o := range eval[[]string](p, overflowing) {
						t.Errorf("at %d px, unfolded %v: %s", width, open, o)
					}
					if !open {
						p.pictures(fmt.Sprintf("%s-light-%d", c.name, width), width)
					}
				}
			}
			for _, scheme := range []string{"light", "dark"} {
				p.prefer(scheme)
				got := eval[[]string](p, weak)
				t.Logf("%s: %s", scheme, got[0])
				for _, w := range got[1:] {
					t.Errorf("%s: %s", scheme, w)
				}
			}
			p.unfold(false)
			if *out != "" {
				for _, width := range []int64{1280, 400} {
					p.width(width)
					p.pictures(fmt.Sprintf("%s-dark-%d", c.name, width), width)
				}
			}
			for _, m := range p.messages() {
				t.Errorf("console: %s", m)
			}
			if r := p.requests(); len(r) != 1 || !strings.HasPrefix(r[0], "file://") {
				t.Errorf("the page asked for %v", r)
			}
		})
	}
}

// Light and dark are two schemes, and what is printed is black on white in both.
func TestBrowserSchemes(t *testing.T) {
	p := open(t, browser(t), zero())
	ground := `getComputedStyle(document.documentElement).backgroundColor`
	for scheme, want := range map[string]string{"light": "rgb(255, 255, 255)", "dark": "rgb(20, 23, 26)"} {
		p.prefer(scheme)
		if got := eval[string](p, ground); got != want {
			t.Errorf("%s: the ground is %s, wanted %s", scheme, got, want)
		}
	}
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Media:    "print",
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}},
	}); err != nil {
		t.Fatal(err)
	}
	if got := eval[[]string](p, `[`+ground+`, getComputedStyle(document.querySelector("h1")).color]`); got[0] != "rgb(255, 255, 255)" || got[1] != "rgb(0, 0, 0)" {
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
	p := open(t, browser(t), fewer())
	for _, width := range []int64{1280, 400} {
		if err := chromedp.Do(p.ctx, chromedp.Reload()); err != nil { // begin from the top
			t.Fatal(err)
		}
		p.width(width)
		n := eval[int](p, `(() => {
			window.stops = [...document.querySelectorAll("a[href], summary, [tabindex='0']")].filter(e => e.checkVisibility());
			return window.stops.length;
		})()`)
		if n < 40 {
			t.Fatalf("only %d stops", n)
		}
		for i := range n {
			if err := chromedp.Do(p.ctx, chromedp.KeyEvent(kb.Tab)); err != nil {
				t.Fatal(err)
			}
			got := eval[struct {
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
	eval[int](p, `(() => { document.querySelector(".skip").focus(); return 0 })()`)
	if err := chromedp.Do(p.ctx, chromedp.KeyEvent(kb.Enter)); err != nil {
		t.Fatal(err)
	}
	if got := eval[string](p, `document.activeElement.id`); got != "report" {
		t.Errorf("the skip link leads to %q", got)
	}
	eval[int](p, `(() => { document.querySelector("summary").focus(); return 0 })()`)
	if err := chromedp.Do(p.ctx, chromedp.KeyEvent(kb.Enter)); err != nil {
		t.Fatal(err)
	}
	if !eval[bool](p, `document.querySelector("details").open`) {
		t.Error("a folded part does not open by key")
	}
}

// A link to what is folded opens it.
func TestBrowserLinkOpens(t *testing.T) {
	p := open(t, browser(t), many())
	id := drawnID(shownCharacteristics + 2)
	folded := fmt.Sprintf(`document.getElementById(%q).closest("details").open`, id)
	if eval[bool](p, folded) {
		t.Fatal("it is open from the start")
	}
	eval[int](p, fmt.Sprintf(`(() => { document.querySelector("a[href='#%s']").click(); return 0 })()`, id))
	if !eval[bool](p, folded) {
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
	p := open(t, browser(t), fewer())
	p.unfold(true)
	tree, err := chromedp.Call(p.ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
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
	keep(t, "accessibility.txt", dump.Bytes())
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

var mediaBox = regexp.MustCompile(`/MediaBox ?\[0 0 ([0-9.]+) ([0-9.]+)\]`)

// On A4 nothing is cut off at the side, and each page has its number.
func TestBrowserPrints(t *testing.T) {
	ctx := browser(t)
	if _, err := exec.LookPath("pdftotext"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	p := open(t, ctx, rich())
	p.prefer("dark")
	pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
	if err != nil {
		t.Fatal(err)
	}
	keep(t, "rich.pdf", pdf)
	cmd := exec.Command("pdftotext", "-layout", "-enc", "UTF-8", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
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
		if !strings.Contains(string(text), want) {
			t.Errorf("printed, the report lacks %q", want)
		}
	}
	for _, m := range mediaBox.FindAllStringSubmatch(string(pdf), -1) {
		var w, h float64
		if _, err := fmt.Sscan(m[1]+" "+m[2], &w, &h); err != nil || math.Abs(w-595.3) > 1.5 || math.Abs(h-841.9) > 1.5 {
			t.Errorf("a page is %s by %s points", m[1], m[2])
		}
	}
	// In the width of the paper within its margins nothing sticks out.
	const across = 695 // pixels: 210 mm less twice 13 mm
	for _, p := range []page{p, open(t, ctx, many())} {
		if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
			t.Fatal(err)
		}
		p.unfold(true)
		p.width(across)
		for _, o := range eval[[]string](p, strings.ReplaceAll(overflowing, ".scroll table, ", "")) {
			t.Errorf("printed: %s", o)
		}
	}
}

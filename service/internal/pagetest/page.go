package pagetest

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// Page is an HTML file opened in a tab of its own.
type Page struct {
	T *testing.T
	// Context is that of the tab.
	Context context.Context
	// Messages gives what the page wrote to the console, once.
	Messages func() []string
	// Requests gives what the page asked for.
	Requests func() []string
}

// Open opens HTML in a browser that [Browser] gave.
func Open(t *testing.T, browser context.Context, html []byte) Page {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, html, 0o600); err != nil {
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
	return Page{
		T: t, Context: tab,
		Messages: func() []string {
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
		Requests: func() []string {
			lock.Lock()
			defer lock.Unlock()
			return asked
		},
	}
}

// Eval evaluates JavaScript in a page.
func Eval[T any](p Page, script string) T {
	p.T.Helper()
	got, err := chromedp.Run(p.Context, chromedp.Evaluate[T](script))
	if err != nil {
		p.T.Fatal(err)
	}
	return got
}

// Width makes the window so many pixels wide.
func (p Page) Width(px int64) {
	p.T.Helper()
	if err := chromedp.Do(p.Context, chromedp.EmulateViewport(px, 900)); err != nil {
		p.T.Fatal(err)
	}
}

// Prefer looks at the page as someone does who prefers a scheme of colours, "light"
// or "dark", on a medium, "screen" or "print".
func (p Page) Prefer(scheme, medium string) {
	p.T.Helper()
	if _, err := chromedp.Call(p.Context, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Media:    medium,
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	}); err != nil {
		p.T.Fatal(err)
	}
}

// Print prints the page, as its style sheet has it.
func (p Page) Print(options ...chromedp.PDFOption) []byte {
	p.T.Helper()
	pdf, err := chromedp.Run(p.Context, chromedp.PrintToPDF(append(options, chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground())...))
	if err != nil {
		p.T.Fatal(err)
	}
	return pdf
}

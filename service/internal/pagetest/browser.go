package pagetest

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// Browser starts a real browser without a network, or skips the test where there
// is none; in continuous integration there must be one. The path in CHROMIUM goes
// before the usual one.
func Browser(t *testing.T) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("starts a browser")
	}
	path := os.Getenv("CHROMIUM")
	if path == "" {
		path = "/usr/bin/chromium"
	}
	if _, err := os.Stat(path); err != nil {
		missing(t, err)
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

// missing skips a test that lacks a program.
func missing(t *testing.T, err error) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatal(err)
	}
	t.Skip(err)
}

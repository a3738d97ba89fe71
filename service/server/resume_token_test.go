package server

import (
	"strings"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
)

func sampleChange() store.Change {
	return store.Change{
		Position: 1<<40 + 3, Kind: store.Withdrawn, SpecID: "rill-125-2026-eu", Revision: 2,
		Digest: strings.Repeat("ab", 32), RecordedTime: time.Date(2026, 3, 1, 12, 0, 0, 123456000, time.UTC),
	}
}

// Tokens that were given out are read for ever.
func TestResumeTokenNeverChanges(t *testing.T) {
	const want = "1AAABAAAAAAPs7Tkn8PTONg"
	if got := encodeResumeToken(sampleChange()); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	p, err := decodeResumeToken(want)
	if err != nil || !p.after(sampleChange()) {
		t.Errorf("got %+v and %v, want the point after the change", p, err)
	}
}

func TestResumeTokenOfAnotherHistory(t *testing.T) {
	p, err := decodeResumeToken(encodeResumeToken(sampleChange()))
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*store.Change){
		"position": func(c *store.Change) { c.Position++ },
		"kind":     func(c *store.Change) { c.Kind = store.Published },
		"spec":     func(c *store.Change) { c.SpecID = "brook-250-2027-eu" },
		"revision": func(c *store.Change) { c.Revision++ },
		"digest":   func(c *store.Change) { c.Digest = strings.Repeat("cd", 32) },
		"time":     func(c *store.Change) { c.RecordedTime = c.RecordedTime.Add(time.Microsecond) },
	} {
		other := sampleChange()
		change(&other)
		if p.after(other) {
			t.Errorf("%s: got a token for another change accepted", name)
		}
	}
}

func TestResumeTokenRefused(t *testing.T) {
	good := encodeResumeToken(sampleChange())
	for name, token := range map[string]string{
		"version":         "2" + good[1:],
		"noise":           "zzz",
		"version only":    "1",
		"short":           good[:len(good)-1],
		"long":            good + "A",
		"line break":      good[:5] + "\n" + good[6:],
		"not base64":      good[:5] + "*" + good[6:],
		"stray bits":      good[:len(good)-1] + "x",
		"nought":          "1" + resumeTokenEncoding.EncodeToString(make([]byte, 16)),
		"below nought":    "1" + resumeTokenEncoding.EncodeToString([]byte(strings.Repeat("\xff", 16))),
		"a page token":    encodePageToken("specs ", "rill-125-2026-eu"),
		"a page of lists": store.EncodeToken(store.CursorAfter(testNow, "x"), nil),
	} {
		if p, err := decodeResumeToken(token); err == nil {
			t.Errorf("%s: got %+v for %q, want an error", name, p, token)
		}
	}
}

func FuzzResumeToken(f *testing.F) {
	f.Add("")
	f.Add("2abc")
	f.Add(encodeResumeToken(sampleChange()))
	f.Fuzz(func(t *testing.T, token string) {
		p, err := decodeResumeToken(token)
		if err != nil || token == "" {
			return
		}
		if p.position < 1 {
			t.Errorf("got position %d from %q", p.position, token)
		}
	})
}

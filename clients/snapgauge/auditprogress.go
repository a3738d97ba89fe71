package main

import (
	"fmt"
	"math"
	"strings"
	"sync"
	"time"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/service/phrase"
)

const (
	// redrawPause is how often the line of progress is drawn: four times a second.
	redrawPause = 250 * time.Millisecond
	// rateSpan is over how long the rate is measured.
	rateSpan = 15 * time.Second
)

// progress is the line on standard error that says how far an audit is, while it
// is on its way. What else is written to standard error meanwhile goes through it.
type progress struct {
	write func(string)
	// width is that of the terminal now; nil where there is no line.
	width func() int
	ink   layout.Ink
	// share of the records, where it is known.
	share func(records int64) (float64, bool)

	mu       sync.Mutex
	state    progressState
	drawn    bool
	finished chan struct{}
	ended    sync.WaitGroup
}

// progressState is what the line tells.
type progressState struct {
	records, unaccepted int64
	total               int64 // records in all, where the server knows; else nought
	waiting             bool  // for the server to come back
	samples             []progressSample
}

// progressSample is how many records were answered at a time.
type progressSample struct {
	at      time.Time
	records int64
}

// newProgress begins the line, unless it is not wanted or standard error is no
// terminal that can draw a line again.
func (a *app) newProgress(quiet bool, share func(int64) (float64, bool)) *progress {
	p := &progress{share: share, write: func(s string) { _, _ = a.err.Write([]byte(s)) }}
	if quiet || a.errTerminal == nil || a.env("TERM") == "dumb" {
		return p
	}
	if _, ok := a.errTerminal(); !ok {
		return p
	}
	p.ink = layout.Ink(a.color.value == "always" || a.color.value == "auto" && a.env("NO_COLOR") == "")
	p.width = func() int { width, _ := a.errTerminal(); return width }
	p.finished = make(chan struct{})
	p.state.samples = []progressSample{{at: time.Now()}}
	p.ended.Go(func() {
		tick := time.NewTicker(redrawPause)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				p.draw(time.Now())
			case <-p.finished:
				return
			}
		}
	})
	return p
}

// set says how far it is.
func (p *progress) set(records, unaccepted int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.state.records, p.state.unaccepted, p.state.waiting = records, unaccepted, false
}

// setTotal says how many records there are in all; nought where nobody knows.
func (p *progress) setTotal(records int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.state.total = records
}

// wait says that the server is gone.
func (p *progress) wait() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.state.waiting = true
}

// say writes a line to standard error, which stays.
func (p *progress) say(line string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.clear()
	p.write(line + "\n")
}

// end takes the line away.
func (p *progress) end() {
	if p.finished == nil {
		return
	}
	close(p.finished)
	p.ended.Wait()
	p.finished = nil
	p.mu.Lock()
	defer p.mu.Unlock()
	p.clear()
}

// clear empties the line: back to its beginning, and erase to its end (ECMA-48,
// 8.3.41).
func (p *progress) clear() {
	if p.drawn {
		p.write("\r\x1b[K")
		p.drawn = false
	}
}

func (p *progress) draw(now time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	s := &p.state
	if s.waiting {
		s.samples = s.samples[:0] // how long the server was away says nothing of its speed
	}
	s.samples = append(s.samples, progressSample{now, s.records})
	for len(s.samples) > 2 && now.Sub(s.samples[0].at) > rateSpan {
		s.samples = s.samples[1:]
	}
	share, known := p.share(s.records)
	if s.total > 0 {
		share, known = min(1, float64(s.records)/float64(s.total)), true
	}
	// One cell stays free: some terminals begin a new line when the last is filled.
	line := s.line(share, known, p.width()-1, p.ink)
	p.write("\r" + line + "\x1b[K")
	p.drawn = true
}

// rate is how many records were answered in a second.
func (s *progressState) rate() float64 {
	if len(s.samples) < 2 {
		return 0
	}
	first, last := s.samples[0], s.samples[len(s.samples)-1]
	span := last.at.Sub(first.at).Seconds()
	if span <= 0 {
		return 0
	}
	return float64(last.records-first.records) / span
}

// line says it in so many cells: what has no room is left out, the least needed
// first.
func (s *progressState) line(share float64, known bool, cells int, ink layout.Ink) string {
	type part struct {
		text  string
		style layout.Style
		drop  int // the greatest is left out first
	}
	parts := []part{{text: phrase.Many(s.records, "record")}}
	if known {
		// Rounded down: the whole is not done before it is done.
		parts = append(parts, part{fmt.Sprintf("%d %%", int(math.Floor(100*share))), layout.Bold, 1})
	}
	switch rate := s.rate(); {
	case s.waiting:
		parts = append(parts, part{"waiting for the server", layout.Yellow, 0})
	case rate > 0:
		parts = append(parts, part{perSecond(rate), layout.Dim, 4})
		if known && share > 0 {
			left := float64(s.records) * (1 - share) / share / rate
			parts = append(parts, part{timeLeft(left), layout.Dim, 2})
		}
	}
	if s.unaccepted > 0 {
		parts = append(parts, part{phrase.Grouped(s.unaccepted) + " not accepted", layout.Yellow, 3})
	}
	const gap = "  "
	for {
		width := -len(gap)
		drop := -1
		for i, one := range parts {
			width += len(gap) + layout.Width(one.text)
			if i > 0 && (drop < 0 || one.drop > parts[drop].drop) {
				drop = i
			}
		}
		if width <= cells || drop < 0 {
			break
		}
		parts = append(parts[:drop], parts[drop+1:]...)
	}
	parts[0].text = layout.Shorten(parts[0].text, cells)
	said := make([]string, len(parts))
	for i, one := range parts {
		said[i] = ink.Write(one.style, one.text)
	}
	return strings.Join(said, gap)
}

// perSecond says a rate.
func perSecond(rate float64) string {
	if rate < 10 {
		return fmt.Sprintf("%.1f/s", rate)
	}
	return phrase.Grouped(int64(rate)) + "/s"
}

// timeLeft says how long it takes yet, as finely as it can be known.
func timeLeft(seconds float64) string {
	switch {
	case seconds < 60:
		return fmt.Sprintf("%d s left", int(math.Ceil(seconds)))
	case seconds < 90*60:
		return fmt.Sprintf("%d min left", int(math.Ceil(seconds/60)))
	case seconds < 100*3600:
		return fmt.Sprintf("%d h left", int(math.Ceil(seconds/3600)))
	}
	return "days left"
}

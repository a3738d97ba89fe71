package audit

import (
	"crypto/sha256"
	"math/rand/v2"
	"testing"

	"github.com/snapgauge/snapgauge/service/gauge"
)

// Bytes with the right digest are somebody's who knows how it is made. Whatever
// they hold, they are refused or give an audit that can go on, be saved, be joined
// and tell its summary.
func FuzzRestore(f *testing.F) {
	e := testEngine(f, 1)
	a := newAuditor()
	honest(f, a, testEngines(f), 1, 0, 40)
	good, err := a.Save("x")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(good[sha256.Size:])
	rng := rand.New(rand.NewPCG(1, 1))
	for range 300 {
		payload := append([]byte(nil), good[sha256.Size:]...)
		for range 1 + rng.IntN(3) {
			payload[rng.IntN(len(payload))] = byte(rng.Uint32())
		}
		f.Add(payload)
	}
	f.Fuzz(func(t *testing.T, payload []byte) {
		digest := sha256.Sum256(payload)
		b, _, err := Restore(append(digest[:], payload...), gauge.Version)
		if err != nil {
			return
		}
		b.Add(Failed(nil, "UNREADABLE", "x"))
		add(t, b, e, record(rand.New(rand.NewPCG(2, 2)), 7, "north", "a"))
		b.Summary()
		if _, err := b.Save(""); err != nil {
			t.Fatal(err)
		}
		joined := newAuditor()
		honest(t, joined, testEngines(t), 1, 0, 3)
		_ = joined.Join(b) // refused where the options differ
	})
}

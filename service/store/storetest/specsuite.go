package storetest

import (
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
)

// RunSpecs is the suite of [store.SpecStore]. open is as for [Run], which holds
// the same database to what it promises about set-ups.
func RunSpecs(t *testing.T, open func(t *testing.T) store.DB) {
	opener := func(t *testing.T) store.DB {
		t.Helper()
		s := open(t)
		t.Cleanup(func() {
			if err := s.Close(); err != nil {
				t.Errorf("Close: %v", err)
			}
		})
		return s
	}
	for _, group := range []struct {
		name  string
		tests []namedSpecTest
	}{
		{"Publish", publishTests},
		{"Withdraw", withdrawTests},
		{"Draft", draftTests},
		{"Feed", feedTests},
		{"Watch", watchTests},
		{"Affected", affectedTests},
		{"Life", specLifeTests},
		{"Property", specPropertyTests},
	} {
		t.Run(group.name, func(t *testing.T) {
			for _, test := range group.tests {
				t.Run(test.name, func(t *testing.T) { test.run(t, opener) })
			}
		})
	}
}

type specOpener = func(t *testing.T) store.DB

type namedSpecTest struct {
	name string
	run  func(t *testing.T, open specOpener)
}

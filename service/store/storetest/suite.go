package storetest

import (
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
)

// Run runs the suite. Every store that it opens belongs to one name,
// t.Name(): open makes an empty store for a name that is new, and opens the same
// data again for one that it has had before and that was closed. open fails the
// test itself where it can not. The suite closes what it opens.
func Run(t *testing.T, open func(t *testing.T) store.Store) {
	opener := func(t *testing.T) store.Store {
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
		tests []namedTest
	}{
		{"Submit", submitTests},
		{"Supersede", supersedeTests},
		{"List", listTests},
		{"Filter", filterTests},
		{"Paging", pagingTests},
		{"Context", contextTests},
		{"Life", lifeTests},
	} {
		t.Run(group.name, func(t *testing.T) {
			for _, test := range group.tests {
				t.Run(test.name, func(t *testing.T) { test.run(t, opener) })
			}
		})
	}
}

type opener = func(t *testing.T) store.Store

type namedTest struct {
	name string
	run  func(t *testing.T, open opener)
}

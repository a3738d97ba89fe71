package workshop

import (
	"errors"
	"testing"
)

// failer is what testing.TB and rapid.T have in common.
type failer interface {
	Helper()
	Fatalf(format string, args ...any)
}

func noErr(t failer, err error) {
	t.Helper()
	if err != nil {
		t.Fatalf("%v", err)
	}
}

// refused fails the test unless err names a parameter and what was wanted.
func refused(t testing.TB, name string, err error) {
	t.Helper()
	var in *InputError
	if !errors.As(err, &in) {
		t.Errorf("%s: not refused with an *InputError: %v", name, err)
		return
	}
	if in.Param == "" || in.Want == "" {
		t.Errorf("%s: says too little: %#v", name, in)
	}
}

// truth makes a yes or no comparable with a published one.
func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

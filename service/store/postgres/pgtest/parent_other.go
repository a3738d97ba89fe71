//go:build unix && !linux

package pgtest

import "syscall"

// dieWithParent does nothing where the kernel knows no such thing: a server can
// then outlive a test process that is killed.
func dieWithParent(*syscall.SysProcAttr) {}

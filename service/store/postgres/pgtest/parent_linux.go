package pgtest

import "syscall"

// dieWithParent has the kernel shut the server down, at once, when the thread
// that started it ends.
func dieWithParent(a *syscall.SysProcAttr) { a.Pdeathsig = syscall.SIGQUIT }

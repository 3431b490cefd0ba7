package testkit

import "syscall"

func tie(a *syscall.SysProcAttr) { a.Pdeathsig = syscall.SIGKILL }

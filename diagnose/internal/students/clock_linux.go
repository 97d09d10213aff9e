package students

import (
	"syscall"
	"time"
	"unsafe"
)

const threadClock = 3 // CLOCK_THREAD_CPUTIME_ID

// threadTime is the time the calling thread has spent working, to the
// microsecond: on a machine with other work to do, the clock on the wall says
// little, and what the system counts in ticks says nothing of one script.
func threadTime() time.Duration {
	var t syscall.Timespec
	if _, _, e := syscall.Syscall(syscall.SYS_CLOCK_GETTIME, threadClock, uintptr(unsafe.Pointer(&t)), 0); e != 0 {
		return 0
	}
	return time.Duration(t.Nano())
}

//go:build unix

package class

import (
	"errors"
	"os"
	"syscall"
)

// lock keeps a second run out of a folder of results. The system lets go of it
// when the program ends, however it ends.
func lock(path string) (unlock func(), err error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, errors.New("nothing can be written there: " + wordless(err))
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		f.Close()
		return nil, errors.New("another run of batten is writing there: wait for its end")
	}
	// A disk that knows no locks is used without.
	return func() { f.Close() }, nil
}

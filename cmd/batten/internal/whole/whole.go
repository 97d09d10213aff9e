// Package whole writes files whole or not at all: a reader never meets half a
// page, and a write that fails leaves what stood there before.
package whole

import (
	"bufio"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// Names of the files in which a write is prepared. Whatever bears such a name
// was left by a run that was killed.
const (
	prefix = ".batten-"
	suffix = ".part"
)

// A Disk writes files. Its zero value is the real one; tests fill it up.
type Disk struct {
	// Before is called before each write with the path and the size; its error
	// stands for one of the disk.
	Before func(path string, size int) error
}

// Write puts data at path, making its folder where there is none. With last
// set, the data is on the disk when Write returns, not only on its way there.
func (d *Disk) Write(path string, data []byte, last bool) error {
	if err := d.write(path, data, last); err != nil {
		return fmt.Errorf("%s could not be written: %w", path, Plain(err))
	}
	return nil
}

func (d *Disk) write(path string, data []byte, last bool) error {
	if d != nil && d.Before != nil {
		if err := d.Before(path, len(data)); err != nil {
			return err
		}
	}
	return write(path, last, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// Stream is Write for what fill writes piece by piece.
func (d *Disk) Stream(path string, fill func(io.Writer) error) error {
	err := error(nil)
	if d != nil && d.Before != nil {
		err = d.Before(path, 0)
	}
	if err == nil {
		err = write(path, true, func(w io.Writer) error {
			b := bufio.NewWriterSize(w, 1<<16)
			if err := fill(b); err != nil {
				return err
			}
			return b.Flush()
		})
	}
	if err != nil {
		return fmt.Errorf("%s could not be written: %w", path, Plain(err))
	}
	return nil
}

func write(path string, last bool, fill func(io.Writer) error) error {
	dir := filepath.Dir(path)
	temp, f, err := create(dir)
	if os.IsNotExist(err) {
		if err = os.MkdirAll(dir, 0o777); err == nil {
			temp, f, err = create(dir)
		}
	}
	if err != nil {
		return err
	}
	err = fill(f)
	if err == nil && last {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(temp, path)
	}
	if err != nil {
		os.Remove(temp)
	}
	return err
}

// create opens a file of a name that nothing has, with the rights that the
// user's mask leaves.
func create(dir string) (string, *os.File, error) {
	for try := 0; ; try++ {
		var b [8]byte
		rand.Read(b[:])
		name := filepath.Join(dir, prefix+hex.EncodeToString(b[:])+suffix)
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if os.IsExist(err) && try < 100 {
			continue
		}
		return name, f, err
	}
}

// Sweep removes what killed runs left half written in a folder and those below
// it. Nobody else may be writing there.
func Sweep(dir string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		switch name := e.Name(); {
		case e.IsDir():
			Sweep(filepath.Join(dir, name))
		case strings.HasPrefix(name, prefix) && strings.HasSuffix(name, suffix) && len(name) == len(prefix)+16+len(suffix):
			os.Remove(filepath.Join(dir, name))
		}
	}
}

// Plain takes the path and the call out of an error of the file system, since
// whoever shows it names the file already.
func Plain(err error) error {
	switch e := err.(type) {
	case *os.PathError:
		return e.Err
	case *os.LinkError:
		return e.Err
	case *os.SyscallError:
		return e.Err
	}
	return err
}

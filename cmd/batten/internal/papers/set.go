package papers

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// File is one file of a set.
type File struct {
	Name string
	Data []byte
}

// WriteSet puts files into a folder, all or none: they are prepared beside the
// folder's other files and moved into place when every one is on the disk; what
// goes wrong on the way is undone. Files that stand there already are refused
// unless overwrite is set; others in the folder stay as they are.
func WriteSet(dir string, files []File, overwrite bool) (err error) {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return fmt.Errorf("%s is not a folder", dir)
	}
	if !overwrite {
		if err := standing(dir, files); err != nil {
			return err
		}
	}
	made, err := makeFolder(dir)
	if err != nil {
		return fmt.Errorf("the folder %s can't be made: %w", dir, plain(err))
	}
	stage, err := os.MkdirTemp(dir, ".batten-")
	if err != nil {
		removeFolders(made)
		return fmt.Errorf("nothing can be written in %s: %w", dir, plain(err))
	}
	defer func() {
		os.RemoveAll(stage)
		if err != nil {
			removeFolders(made)
		}
	}()
	for _, f := range files {
		if err := os.WriteFile(filepath.Join(stage, f.Name), f.Data, 0o644); err != nil {
			return fmt.Errorf("%s could not be written: %w", f.Name, plain(err))
		}
	}
	return place(dir, stage, files)
}

// place moves prepared files into the folder; what stood in their places is
// kept until all are there, and put back when one can't be moved.
func place(dir, stage string, files []File) error {
	const old = ".old"
	var placed, kept []string
	undo := func() {
		for _, n := range placed {
			os.Remove(filepath.Join(dir, n))
		}
		for _, n := range kept {
			os.Rename(filepath.Join(stage, n+old), filepath.Join(dir, n))
		}
	}
	for _, f := range files {
		target := filepath.Join(dir, f.Name)
		switch err := os.Rename(target, filepath.Join(stage, f.Name+old)); {
		case err == nil:
			kept = append(kept, f.Name)
		case !errors.Is(err, fs.ErrNotExist):
			undo()
			return fmt.Errorf("%s can't be replaced: %w", target, plain(err))
		}
		if err := os.Rename(filepath.Join(stage, f.Name), target); err != nil {
			undo()
			return fmt.Errorf("%s could not be written: %w", target, plain(err))
		}
		placed = append(placed, f.Name)
	}
	return nil
}

// standing refuses a set of which files are there already.
func standing(dir string, files []File) error {
	var there []string
	for _, f := range files {
		if _, err := os.Lstat(filepath.Join(dir, f.Name)); err == nil {
			there = append(there, f.Name)
		}
	}
	switch {
	case len(there) == 0:
		return nil
	case len(there) > 3:
		there = append(there[:3], fmt.Sprintf("and %d more", len(there)-3))
	}
	return fmt.Errorf("%s has %s already; --overwrite replaces them, or name another folder", dir, strings.Join(there, ", "))
}

// makeFolder makes a folder and those above it that are missing, and returns
// the ones it made, the deepest first.
func makeFolder(dir string) ([]string, error) {
	var missing []string
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		if _, err := os.Stat(d); err == nil || d == filepath.Dir(d) {
			break
		}
		missing = append(missing, d)
	}
	return missing, os.MkdirAll(dir, 0o755)
}

func removeFolders(made []string) {
	for _, d := range made {
		os.Remove(d) // only where it is empty
	}
}

// plain takes path and call out of an error of the file system.
func plain(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	var l *os.LinkError
	if errors.As(err, &l) {
		return l.Err
	}
	return err
}

// WriteFile writes one file whole or not at all, replacing what stands there.
func WriteFile(path string, data []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".batten-*")
	if err != nil {
		return plain(err)
	}
	_, err = f.Write(data)
	if e := f.Chmod(0o644); err == nil {
		err = e
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
		return plain(err)
	}
	return nil
}

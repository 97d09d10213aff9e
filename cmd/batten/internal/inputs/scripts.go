package inputs

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// largest is the most that is read as one script. A long answer has a few
// thousand bytes; the bound keeps a mistyped name from filling the memory.
const largest = 16 << 20

// Stdin is how standard input is named.
const Stdin = "-"

// Read reads one script: a file, or standard input for "-". Its errors do not
// name the script: whoever shows them does.
func Read(name string, stdin io.Reader) ([]byte, error) {
	if name == Stdin {
		return readAll(stdin)
	}
	info, err := os.Stat(name)
	if err != nil {
		return nil, plain(err)
	}
	if info.IsDir() {
		return nil, errors.New("it is a folder: name a script in it")
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, plain(err)
	}
	defer f.Close()
	return readAll(f)
}

func readAll(r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, largest+1))
	if err != nil {
		return nil, plain(err)
	}
	if len(data) > largest {
		return nil, fmt.Errorf("it is over %d MB: too large for a worked answer", largest>>20)
	}
	return data, nil
}

// IsFolder tells whether the name is that of a folder.
func IsFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// Each calls visit for every script that the arguments stand for, in the order
// given, folders (and theirs) in name order. Of a folder every file counts but
// hidden ones and questions. A folder that can't be walked, or is empty, is
// visited with the reason.
func Each(args []string, visit func(name string, err error)) {
	for _, arg := range args {
		if arg == Stdin || !IsFolder(arg) {
			visit(arg, nil)
			continue
		}
		found := false
		err := filepath.WalkDir(arg, func(path string, e fs.DirEntry, err error) error {
			switch {
			case err != nil:
				found = true
				visit(path, plain(err))
				return nil
			case path != arg && strings.HasPrefix(e.Name(), "."):
				if e.IsDir() {
					return fs.SkipDir
				}
			case e.IsDir(), IsFolder(path), isQuestion(path):
			default:
				found = true
				visit(path, nil)
			}
			return nil
		})
		if err != nil {
			visit(arg, plain(err))
		} else if !found {
			visit(arg, errors.New("there is no script in this folder"))
		}
	}
}

func isQuestion(path string) bool {
	ext := strings.ToLower(filepath.Ext(path))
	return ext == ".yaml" || ext == ".yml"
}

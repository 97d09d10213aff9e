package inputs

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"batten/cmd/batten/internal/docx"
)

// Document is one script as handed in.
type Document struct {
	Text []byte // its words
	Sum  string // fingerprint of the file
	// Pictures counts what a Word document holds besides words, of which
	// nothing can be read.
	Pictures int
}

// ReadDocument reads one script, plain text or a Word document; "-" is standard
// input. Its errors do not name the script.
func ReadDocument(name string, stdin io.Reader) (*Document, error) {
	var data []byte
	var err error
	if name == Stdin {
		data, err = readAll(stdin)
	} else {
		data, err = readFile(name)
	}
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	d := &Document{Text: data, Sum: hex.EncodeToString(sum[:12])}
	if docx.Is(data) {
		w, err := docx.Read(data)
		if err != nil {
			return nil, err
		}
		d.Text, d.Pictures = []byte(w.Text), w.Pictures
		if w.Pictures > 0 && len(bytes.TrimSpace(d.Text)) == 0 {
			return nil, errors.New("it is a Word document that holds a picture and no words: have the working typed")
		}
		return d, nil
	}
	if what := known(data); what != "" {
		return nil, fmt.Errorf("it is %s, which is not read: plain text and .docx are", what)
	}
	return d, nil
}

func readFile(name string) ([]byte, error) {
	if l, err := os.Lstat(name); err == nil && l.Mode()&fs.ModeSymlink != 0 {
		if _, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) {
			return nil, errors.New("it is a link to a file that is not there")
		}
	}
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, plain(err)
	case info.IsDir():
		return nil, errors.New("it is a folder: name a script in it")
	case info.Mode()&(fs.ModeSocket|fs.ModeIrregular) != 0:
		return nil, errors.New("it is no file that can be read")
	case info.Size() > largest:
		return nil, tooLarge()
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, plain(err)
	}
	defer f.Close()
	return readAll(f)
}

func tooLarge() error {
	return fmt.Errorf("it is over %d MB: too large for a worked answer", largest>>20)
}

// known tells kinds of files that are handed in by mistake.
func known(data []byte) string {
	for _, k := range []struct{ begins, what string }{
		{"%PDF-", "a PDF"},
		{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a Word document of the old kind (.doc), or one with a password"},
		{"{\\rtf", "a rich-text file"},
		{"\x89PNG\r\n", "a picture"},
		{"\xff\xd8\xff", "a picture"},
		{"GIF8", "a picture"},
		{"Rar!", "an archive"},
		{"7z\xbc\xaf", "an archive"},
		{"\x1f\x8b", "an archive"},
	} {
		if bytes.HasPrefix(data, []byte(k.begins)) {
			return k.what
		}
	}
	if len(data) > 12 && string(data[4:8]) == "ftyp" {
		return "a picture or a film"
	}
	return ""
}

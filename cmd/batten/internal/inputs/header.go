package inputs

import (
	"bytes"
	"strings"
)

// Header returns the id in a script's "Question:" line, "" when there is none.
// It looks at the header alone, so that the question is known before the
// script is read against it.
func Header(data []byte) string {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	for seen := 0; seen < 2 && len(data) > 0; {
		end := bytes.IndexAny(data, "\r\n")
		if end < 0 {
			end = len(data)
		}
		const longest = 400 // no header line is longer
		line := strings.TrimSpace(string(data[:min(end, longest)]))
		data = data[min(end+1, len(data)):]
		if line == "" {
			continue
		}
		seen++
		key, value, _ := strings.Cut(line, ":")
		switch strings.ToLower(strings.TrimSpace(key)) {
		case "question":
			return strings.TrimSpace(value)
		case "name":
		default:
			return ""
		}
	}
	return ""
}

package docx

import (
	"archive/zip"
	"encoding/xml"
	"strconv"
	"strings"
)

// numbering is the lists of a document: how each shows its numbers, and how
// far it has counted.
type numbering struct {
	levels  map[string][]level // list → its levels
	counted map[string][]int
}

type level struct {
	format string // lowerLetter, decimal …
	text   string // "(%1)"
	start  int
}

const mostLevels = 9

// readNumbering reads the lists. A document without lists, or with some that
// can't be read, has none: the numbers are lost then, not the words.
func readNumbering(f *zip.File) *numbering {
	n := &numbering{levels: map[string][]level{}, counted: map[string][]int{}}
	if f == nil {
		return n
	}
	data, err := unpack(f)
	if err != nil {
		return n
	}
	type val struct {
		Val string `xml:"val,attr"`
	}
	var all struct {
		Abstract []struct {
			ID  string `xml:"abstractNumId,attr"`
			Lvl []struct {
				Ilvl  string `xml:"ilvl,attr"`
				Start val    `xml:"start"`
				Fmt   val    `xml:"numFmt"`
				Text  val    `xml:"lvlText"`
			} `xml:"lvl"`
		} `xml:"abstractNum"`
		Num []struct {
			ID       string `xml:"numId,attr"`
			Abstract val    `xml:"abstractNumId"`
		} `xml:"num"`
	}
	if xml.Unmarshal(data, &all) != nil {
		return n
	}
	abstract := map[string][]level{}
	for _, a := range all.Abstract {
		levels := make([]level, mostLevels)
		for _, l := range a.Lvl {
			start := 1
			if l.Start.Val != "" {
				start = digit(l.Start.Val)
			}
			levels[digit(l.Ilvl)%mostLevels] = level{l.Fmt.Val, l.Text.Val, start}
		}
		abstract[a.ID] = levels
	}
	for _, num := range all.Num {
		n.levels[num.ID] = abstract[num.Abstract.Val]
	}
	return n
}

// next counts on and gives the label of a list's next paragraph, "" for a
// bullet or a list that is not known.
func (n *numbering) next(id string, at int) string {
	levels := n.levels[id]
	if at < 0 || at >= len(levels) {
		return ""
	}
	count := n.counted[id]
	if count == nil {
		count = make([]int, mostLevels)
		n.counted[id] = count
	}
	count[at]++
	for i := at + 1; i < mostLevels; i++ {
		count[i] = 0
	}
	if levels[at].format == "bullet" || levels[at].format == "none" {
		return ""
	}
	label := levels[at].text
	for i := range levels {
		label = strings.ReplaceAll(label, "%"+strconv.Itoa(i+1), numeral(levels[i].format, levels[i].start+max(count[i], 1)-1))
	}
	return label
}

func numeral(format string, i int) string {
	switch format {
	case "lowerLetter", "upperLetter":
		if i < 1 || i > 26 {
			break
		}
		s := string(rune('a' + i - 1))
		if format == "upperLetter" {
			s = strings.ToUpper(s)
		}
		return s
	case "lowerRoman", "upperRoman":
		if i < 1 || i > 12 {
			break
		}
		s := strings.Fields("i ii iii iv v vi vii viii ix x xi xii")[i-1]
		if format == "upperRoman" {
			s = strings.ToUpper(s)
		}
		return s
	}
	return strconv.Itoa(i)
}

// digit reads a small number, 0 where it is none.
func digit(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 || n > 10000 {
		return 0
	}
	return n
}

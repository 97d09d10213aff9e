package docx

import (
	"encoding/xml"
	"strings"
	"unicode/utf8"
)

// paragraph reads the words of one paragraph. A line broken by hand within it
// is a line of its own: "\n".
func (r *reader) paragraph() (string, error) {
	var b strings.Builder
	err := r.inline(&b)
	return strings.TrimRight(b.String(), " \t"), err
}

// inline reads runs, formulas and whatever wraps them, to the end of the
// element that was opened.
func (r *reader) inline(b *strings.Builder) error {
	return r.children(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "r":
			return r.run(b)
		case "pPr":
			return r.paragraphProperties(b)
		case "oMath":
			return r.math(b)
		case "del", "moveFrom", "Fallback", "instrText":
			return r.skip()
		}
		return r.inline(b)
	}, nil)
}

// paragraphProperties writes the number that Word shows before a paragraph of
// a list: "(a)" is often no text at all but a list's.
func (r *reader) paragraphProperties(b *strings.Builder) error {
	id, level := "", 0
	err := r.children(func(e xml.StartElement) error {
		if e.Name.Local != "numPr" {
			return r.skip()
		}
		return r.children(func(e xml.StartElement) error {
			switch e.Name.Local {
			case "numId":
				id = attr(e, "val")
			case "ilvl":
				level = digit(attr(e, "val"))
			}
			return r.skip()
		}, nil)
	}, nil)
	if label := r.numbers.next(id, level); label != "" {
		b.WriteString(label + " ")
	}
	return err
}

// run reads one run: words of one look. What is struck through is marked as
// such, and a raised figure is a power.
func (r *reader) run(b *strings.Builder) error {
	var words strings.Builder
	struck, raised := false, false
	err := r.children(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "rPr":
			return r.children(func(e xml.StartElement) error {
				switch e.Name.Local {
				case "strike", "dstrike":
					struck = struck || on(e)
				case "vertAlign":
					raised = attr(e, "val") == "superscript"
				}
				return r.skip()
			}, nil)
		case "t":
			return r.children(func(xml.StartElement) error { return r.skip() }, func(s string) { words.WriteString(s) })
		case "tab", "ptab":
			words.WriteByte('\t')
		case "br", "cr":
			words.WriteByte('\n')
		case "noBreakHyphen":
			words.WriteByte('-')
		case "sym":
			if s := symbols[strings.ToUpper(attr(e, "char"))]; s != "" {
				words.WriteString(s)
			} else {
				words.WriteRune(utf8.RuneError)
			}
		case "drawing", "pict", "object", "AlternateContent":
			return r.picture()
		case "delText", "instrText":
		default:
		}
		return r.skip()
	}, nil)
	text := words.String()
	if raised {
		text = power(text)
	}
	if struck {
		text = strike(text)
	}
	b.WriteString(text)
	return err
}

// picture goes through a drawing for text boxes in it; one without is a
// picture, of which nothing can be read.
func (r *reader) picture() error {
	found := false
	var look func() error
	look = func() error {
		return r.children(func(e xml.StartElement) error {
			switch e.Name.Local {
			case "txbxContent":
				found = true
				return r.blocks(func(l string) error {
					if strings.TrimSpace(l) != "" {
						r.boxed = append(r.boxed, l)
					}
					return nil
				})
			case "Fallback":
				return r.skip()
			}
			return look()
		}, nil)
	}
	err := look()
	if !found {
		r.pictures++
	}
	return err
}

// symbols are characters of Word's symbol font that working is written with.
var symbols = map[string]string{
	"F0B4": "×", "F0B8": "÷", "F0B7": "·", "F0D7": "·", "F0B2": "″", "F0B0": "°", "F0BB": "≈", "F05C": "∴", "F0DE": "⇒",
	"F0AE": "→", "F0D1": "∇", "F044": "Δ", "F06D": "μ", "F072": "ρ", "F071": "θ", "F0B3": "≥", "F0A3": "≤", "F02D": "−",
}

var raisedDigits = strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵",
	"6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹", "-", "⁻", "−", "⁻")

// power writes raised text: "3" as "³", anything else as "^(…)". Words of an
// ordinal ("1st") are left as they are.
func power(s string) string {
	t := strings.TrimSpace(s)
	switch {
	case t == "":
		return s
	case strings.Trim(t, "0123456789-−") == "":
		return raisedDigits.Replace(t)
	case t == "st", t == "nd", t == "rd", t == "th", t == "o":
		return strings.ReplaceAll(s, "o", "°")
	}
	return "^(" + t + ")"
}

// strike strikes text through, character by character.
func strike(s string) string {
	var b strings.Builder
	for _, c := range s {
		b.WriteRune(c)
		if c != '\n' && c != '\t' {
			b.WriteRune('\u0336')
		}
	}
	return b.String()
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// on tells whether a property that is on by standing there is not switched off.
func on(e xml.StartElement) bool {
	switch attr(e, "val") {
	case "0", "false", "off":
		return false
	}
	return true
}

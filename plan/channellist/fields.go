package channellist

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"
)

// Field is what a column holds.
type Field uint8

const (
	NotUsed Field = iota // nothing is made of the column
	GroupName
	GroupNumber
	Number
	Name
	Use
	Rx
	Tx
	Offset // of the transmit frequency from the receive frequency
	RxTone
	TxTone
	BothTones
	Mode
	Width
	RxWidth
	TxWidth
	ReceiveOnly
	System
	Talkgroup
	Remarks
	SiteOf // the site that repeats the channel
	ToneNumber
	ToneValue
	SiteName
	SiteTone
	Latitude
	Longitude
	LatLong
	Meters
	Feet
	Elevation // in a unit that the sheet does not name
	Carried   // display names of the channels repeated at a site
	Marked    // a mark where the channel of the title is repeated at a site
)

// fieldNames are the words of --map and of what is printed: the key of the load,
// where there is one.
var fieldNames = [...]string{
	"not read", "group", "group_number", "number", "name", "use", "rx", "tx", "offset", "rx_tone", "tx_tone", "rx_tone and tx_tone", "mode", "width",
	"rx width", "tx width", "receive_only", "system", "talkgroup", "remarks", "site", "tone number", "tone hz", "site name", "site tone",
	"latitude", "longitude", "latitude and longitude", "elevation_m", "elevation in feet", "elevation", "channels", "channels",
}

func (f Field) String() string { return fieldNames[f] }

// given are the fields that --map can name, by the kind of table that has them.
var given = map[Kind]map[string]Field{
	Channels: {
		"group": GroupName, "group_number": GroupNumber, "number": Number, "name": Name, "use": Use, "rx": Rx, "tx": Tx, "offset": Offset,
		"rx_tone": RxTone, "tx_tone": TxTone, "tone": BothTones, "mode": Mode, "width": Width, "receive_only": ReceiveOnly,
		"system": System, "talkgroup": Talkgroup, "remarks": Remarks, "site": SiteOf,
	},
	Sites: {
		"site_name": SiteName, "site_tone": SiteTone, "latitude": Latitude, "longitude": Longitude, "latitude_longitude": LatLong,
		"elevation_m": Meters, "elevation_ft": Feet, "channels": Carried,
	},
	Tones: {"tone_number": ToneNumber, "tone_hz": ToneValue},
}

// notToBeRead is the word for a column of any table that nothing is made of.
const notToBeRead = "-"

// FieldNames are the words that a mapping can name for a column of a kind of table,
// sorted; the first is a column that is not to be read.
func FieldNames(k Kind) []string {
	return append([]string{notToBeRead}, slices.Sorted(maps.Keys(given[k]))...)
}

// in tells whether a table of a kind can have the field.
func (f Field) in(k Kind) bool {
	return f == NotUsed || slices.Contains(slices.Collect(maps.Values(given[k])), f)
}

// ParseMapping reads "Svc=use" or "J=use". An error completes the sentence
// "--map ...".
func ParseMapping(s string) (Mapping, error) {
	i := strings.LastIndexByte(s, '=')
	if i <= 0 {
		return Mapping{}, fmt.Errorf(`cannot be %q; write the title or the letter of a column, =, and what it holds, such as "Svc=use"`, s)
	}
	column, word := strings.TrimSpace(s[:i]), strings.ToLower(strings.TrimSpace(s[i+1:]))
	if word == notToBeRead {
		return Mapping{Column: column}, nil
	}
	var known []string
	for _, k := range []Kind{Channels, Sites, Tones} {
		if f, ok := given[k][word]; ok {
			return Mapping{Column: column, Field: f}, nil
		}
		known = append(known, FieldNames(k)[1:]...)
	}
	return Mapping{}, fmt.Errorf("cannot be %q; a column holds one of: %s, or - where it is not to be read", s, strings.Join(known, ", "))
}

// title is what the words of a title say.
type title struct {
	text    string
	words   map[string]bool
	rx, tx  bool
	flipped bool // it says what the repeater does
}

// titleWords are the words that titles are made of, by what they speak of.
var titleWords = map[string]string{
	"rx": "rx", "receive": "rx", "recv": "rx", "rcv": "rx", "rec": "rx", "receiver": "rx", "receiving": "rx", "output": "rx", "decode": "rx tone", "dec": "rx tone",
	"tx": "tx", "transmit": "tx", "xmit": "tx", "trans": "tx", "transmitter": "tx", "input": "tx", "encode": "tx tone", "enc": "tx tone", "access": "tone",
	"freq": "freq", "frequency": "freq", "frequencies": "freq", "frq": "freq", "mhz": "freq", "khz": "freq",
	"tone": "tone", "tones": "tone", "ctcss": "tone", "pl": "tone", "dcs": "tone", "dpl": "tone", "nac": "tone", "squelch": "tone", "sql": "tone",
	"offset": "offset", "shift": "offset", "duplex": "offset", "split": "offset",
	"code": "tone", "hz": "hz", "hertz": "hz", "tpl": "tone",
	"w": "width", "nw": "width", "narrow": "width", "wide": "width", "width": "width", "bandwidth": "width", "bw": "width", "spacing": "width",
	"name": "name", "display": "display", "alias": "display", "label": "display", "alpha": "display", "mnemonic": "display", "tag": "display", "text": "display",
	"channel": "channel", "chan": "channel", "ch": "channel", "chnl": "channel", "channels": "channels",
	"number": "number", "no": "number", "num": "number", "nr": "number", "#": "number", "position": "number", "pos": "number", "index": "number", "knob": "number",
	"zone": "group", "group": "group", "grp": "group", "bank": "group", "zones": "group",
	"use": "use", "usage": "use", "function": "use", "purpose": "use", "net": "use", "category": "use", "service": "use", "type": "use", "svc": "svc",
	"mode": "mode", "modulation": "mode", "emission": "mode", "designator": "mode", "analog": "mode", "digital": "mode",
	"system": "system", "trunk": "system", "trunked": "system", "talkgroup": "talkgroup", "tg": "talkgroup", "tgid": "talkgroup", "talk": "talkgroup",
	"remarks": "remarks", "remark": "remarks", "notes": "remarks", "note": "remarks", "comments": "remarks", "comment": "remarks", "description": "remarks",
	"coverage": "remarks", "details": "remarks", "info": "remarks", "information": "remarks", "area": "remarks",
	"site": "site", "sites": "site", "repeater": "site", "repeaters": "site", "location": "site", "mountain": "site", "tower": "site", "lookout": "site",
	"latitude": "lat", "lat": "lat", "longitude": "lon", "long": "lon", "lon": "lon", "lng": "lon", "coordinates": "latlong", "elevation": "elev", "elev": "elev",
	"altitude": "elev", "height": "elev", "ft": "feet", "feet": "feet", "foot": "feet", "m": "meters", "meters": "meters", "metres": "meters", "asl": "elev", "amsl": "elev",
	"only": "only", "n": "n", "or": "", "and": "", "d": "", "a": "", "of": "", "the": "", "in": "in", "out": "out", "r": "", "t": "", "base": "", "rptr": "site", "rpt": "site",
}

// titleOf takes a title into words.
func titleOf(text string) title {
	t := title{text: text, words: map[string]bool{}}
	words := splitWords(text)
	for _, w := range words {
		for _, kind := range strings.Fields(titleWords[w]) {
			t.words[kind] = true
		}
	}
	t.letters(words)
	if slices.ContainsFunc(words, func(w string) bool { return atRepeater[w] }) && t.words["rx"] != t.words["tx"] &&
		!slices.Contains(words, "input") && !slices.Contains(words, "output") {
		t.words["rx"], t.words["tx"] = t.words["tx"], t.words["rx"] // a repeater sends what radios receive
		delete(t.words, "site")
		t.flipped = true
	}
	for _, k := range []string{"rx", "tx"} {
		if !t.words[k] {
			delete(t.words, k)
		}
	}
	t.rx, t.tx = t.words["rx"], t.words["tx"]
	return t
}

// atRepeater are words that make a title speak of what the repeater does.
var atRepeater = map[string]bool{"repeater": true, "rptr": true, "rpt": true, "base": true}

// letters reads R and T beside a frequency or a tone: receive and transmit.
func (t *title) letters(words []string) {
	if !t.words["freq"] && !t.words["tone"] || t.words["rx"] || t.words["tx"] {
		return
	}
	for letter, kind := range map[string]string{"r": "rx", "t": "tx"} {
		if slices.Contains(words, letter) {
			t.words[kind] = true
		}
	}
}

// splitWords are the words of a title in small letters; rxfreq and RXFreq are two.
func splitWords(text string) []string {
	var words []string
	for _, w := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '#' }) {
		if titleWords[w] == "" {
			for _, p := range []string{"rx", "tx"} {
				if rest, ok := strings.CutPrefix(w, p); ok && titleWords[rest] != "" {
					words, w = append(words, p), rest
				}
			}
			if rest, ok := strings.CutSuffix(w, "#"); ok && rest != "" {
				words, w = append(words, rest), "#"
			}
		}
		words = append(words, w)
	}
	return words
}

// titled tells whether a cell looks like a title: most of its words are.
func titled(text string) bool {
	if text == "" || len(text) > 60 {
		return false
	}
	words := splitWords(text)
	known := 0
	for _, w := range words {
		if _, ok := titleWords[w]; ok {
			known++
		}
		if strings.ContainsAny(w, "0123456789") && titleWords[w] == "" {
			return false
		}
	}
	return known > 0 && 2*known >= len(words)
}

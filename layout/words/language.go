package words

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"reflect"
	"strings"
	"sync"
)

// Language is every fixed word on paper in one language. Names and the plan's
// own text stay as written.
type Language struct {
	Card    CardWords
	Wall    WallWords
	Handout HandoutWords
	Changes ChangeWords
	Strips  StripWords
	Fire    FireWords
	Book    BookWords
	Tour    TourWords
}

//go:embed words.csv
var wordsTable string

// languages are the columns of words.csv that hold a language, English first.
var languages = []string{"en", "es", "fr"}

// Languages are the tags (BCP 47) of the languages of the fixed words.
func Languages() []string { return append([]string(nil), languages...) }

// Speak is the fixed words in a language of [Languages]. English stands in the
// code, beside what each word is for; the others in words.csv, a row for each
// word, with how the translation is known.
func Speak(tag string) (*Language, bool) {
	if tag == languages[0] { // for which no table is read
		return spokenEnglish(), true
	}
	l, ok := translated()[tag]
	return l, ok
}

var spokenEnglish = sync.OnceValue(english)

func english() *Language {
	return &Language{Card: English, Wall: EnglishWall, Handout: EnglishHandout, Changes: EnglishChanges, Strips: EnglishStrips, Fire: EnglishFire, Book: EnglishBook, Tour: EnglishTour}
}

// translated are the other languages by their tags.
var translated = sync.OnceValue(func() map[string]*Language {
	all := map[string]*Language{}
	rows, err := csv.NewReader(strings.NewReader(wordsTable)).ReadAll()
	if err != nil {
		panic("layout: words.csv: " + err.Error()) // our own file
	}
	for column, tag := range languages {
		if column == 0 {
			continue
		}
		said := make(map[string]string, len(rows))
		for _, row := range rows[1:] {
			said[row[0]] = row[1+column]
		}
		l := english()
		eachWord(reflect.ValueOf(l).Elem(), "", func(key string, word reflect.Value) {
			if s, ok := said[key]; ok {
				word.SetString(s)
			}
		})
		all[tag] = l
	}
	return all
})

// EnglishWords are the English words by their keys in words.csv.
func EnglishWords() map[string]string {
	words := map[string]string{}
	l, _ := Speak(languages[0])
	copied := *l
	eachWord(reflect.ValueOf(&copied).Elem(), "", func(key string, word reflect.Value) {
		if word.String() != "" {
			words[key] = word.String()
		}
	})
	return words
}

// eachWord visits every string of a struct of words. A word that several
// structs share by embedding has one key, by the type that declares it.
// Slices are copied, so that a language never writes into another's.
func eachWord(v reflect.Value, key string, visit func(key string, word reflect.Value)) {
	switch v.Kind() {
	case reflect.String:
		visit(key, v)
	case reflect.Slice:
		fresh := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		reflect.Copy(fresh, v)
		v.Set(fresh)
		fallthrough
	case reflect.Array:
		for i := range v.Len() {
			eachWord(v.Index(i), fmt.Sprintf("%s.%d", key, i), visit)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			eachWord(v.Field(i), v.Type().Name()+"."+f.Name, visit)
		}
	default:
		panic(fmt.Sprintf("layout: %s: a word of kind %s", key, v.Kind())) // our own structs
	}
}

package main

import (
	"bytes"
	"context"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
	"slotcard/layout/words"
)

func init() { registerCommand(105, (*app).wordsCommand) }

func (a *app) wordsCommand() *cobra.Command {
	var language, out string
	var force bool
	cmd := &cobra.Command{
		Use:   "words --language TAG",
		Short: "writes the fixed words on paper as a table, to correct or to translate them",
		Long: `words writes every fixed word on cards, sheets and book as comma-separated values,
for somebody who speaks the language and knows the trade: the key of the word, the
English, the translation, and how it is known. TAG is es, fr or, for a language that
slotcard does not speak yet, another tag of BCP 47 such as pt: its column is empty.

Correct the column of the language in a spreadsheet, leave the others as they are,
save it as CSV of any kind, XLSX or ODS, and print with it:
slotcard print PLAN --words FILE. What stands between percent signs, such as %names%,
is where a value is put: keep each. A row that is missing or empty is said, and printed
as slotcard says it, else in English. What has become too long for its place is a
finding.`,
		Example: `  slotcard words --language es > es.csv
  slotcard print plan.toml --words es.csv`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return voice.Usagef("takes no file; the language goes behind its flag: slotcard words --language %s", voice.Typed(args[0]))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.runWords(cmd.Context(), language, out, force)
		},
	}
	cmd.Flags().StringVar(&language, "language", "", "`TAG` of the language, such as es or pt")
	cmd.Flags().StringVarP(&out, "out", "o", "", "write the table to `FILE`")
	cmd.Flags().BoolVar(&force, "force", false, "overwrite the file")
	completeFlag(cmd, "language", words.Languages()[1:])
	return cmd
}

func (a *app) runWords(ctx context.Context, language, out string, force bool) error {
	spoken := words.Languages()
	switch {
	case language == "":
		return voice.Usagef("say which language, such as: slotcard words --language %s", spoken[1])
	case language == spoken[0]:
		return voice.Usagef("English is in every table; name the language to print in, such as %s", strings.Join(spoken[1:], " or "))
	case !words.IsTag(language):
		return voice.Usagef("--language %s is no tag of a language, such as es, pt or pt-BR", voice.Typed(language))
	}
	var b bytes.Buffer
	if err := words.WriteTable(&b, language); err != nil {
		return err
	}
	if out == "" {
		a.voice.Raw("%s", b.Bytes())
		return a.voice.Flush()
	}
	over := publish.Nothing
	if force {
		over = publish.Any
	}
	dir, base := filepath.Split(out)
	if err := publish.All(ctx, filepath.Clean(dir+"."), []publish.File{{Name: base, Data: b.Bytes()}}, over); err != nil {
		return err
	}
	what := "the words in " + language
	if !slices.Contains(spoken, language) {
		what = "the words, for somebody to say them in " + language
	}
	a.voice.Tell("%s: %s; correct them, then type: slotcard print PLAN --words %s", voice.Name(out), what, voice.Typed(out))
	return nil
}

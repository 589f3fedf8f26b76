package rules

import (
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// Rules that are applied elsewhere: by reading, by resolving, by laying out,
// and by [Check] itself when it looks at acceptances. None can be accepted: what
// they find cannot be printed at all.
func init() {
	register(readingTOML()...)
	register(readingValues()...)
	register(resolving()...)
	register(accepting()...)
	register(Rule{
		ID: "does-not-fit", Severity: finding.Error,
		Statement: "everything that a card or sheet must say fits on it at sizes that can be read",
		Why:       "what is smaller is not read at night, and what is cut is not there",
		Bad:       "[card]\nsize = \"id-1\"     # and sixteen slots",
		Good:      "[card]\nsize = \"a6\"",
		Fix:       "choose the size which the finding names, or shorten the text that it names",
	})
}

func readingTOML() []Rule {
	const whole = "a file that is read in part would print a card that is right in part"
	return []Rule{
		{
			ID: tomlfile.RuleTooLarge, Severity: finding.Error,
			Statement: "a load or plan is no larger than 1 MB",
			Why:       "no load or plan is as large: another file was named by mistake",
			Bad:       "load = \"photo.tif\"", Good: "load = \"load.toml\"",
			Fix: "name the file that you mean",
		}, {
			ID: tomlfile.RuleTooDeep, Severity: finding.Error,
			Statement: "lists and tables stand inside each other to 64 levels at most",
			Why:       "no load or plan nests deeper than four: the file is damaged or hostile",
			Bad:       "scan = [[[[[[\"own\"]]]]]]     # and so on", Good: "scan = [\"neighbors\", \"command\"]",
			Fix: "remove the brackets",
		}, {
			ID: tomlfile.RuleEncoding, Severity: finding.Error,
			Statement: "a load or plan is UTF-8 text without control characters",
			Why:       "other bytes reach paper as other letters, or as none",
			Source:    "TOML v1.0.0, from memory",
			Bad:       "name = \"Thimble Gulch\"     # saved as UTF-16", Good: "name = \"Thimble Gulch\"     # saved as UTF-8",
			Fix: "save the file as UTF-8 in the editor",
		}, {
			ID: tomlfile.RuleSyntax, Severity: finding.Error,
			Statement: "a load or plan is valid TOML",
			Why:       whole, Source: "TOML v1.0.0, from memory",
			Bad: "name = \"Thimble Gulch", Good: "name = \"Thimble Gulch\"",
			Fix: "correct the line as the help of the finding says",
		}, {
			ID: tomlfile.RuleDuplicateKey, Severity: finding.Error,
			Statement: "a key is written once in its table, and a table once",
			Why:       "one of the two values would be dropped in silence", Source: "TOML v1.0.0, from memory",
			Bad: "period = 2\nperiod = 3", Good: "period = 3",
			Fix: "delete one of the two",
		}, {
			ID: tomlfile.RuleUnknownKey, Severity: finding.Error,
			Statement: "every key is one that slotcard knows",
			Why:       "a misspelled key would be left out in silence",
			Bad:       "chanel = \"VFIRE21\"", Good: "channel = \"VFIRE21\"",
			Fix: "write the key that the finding names as closest, or delete the line",
		}, {
			ID: tomlfile.RuleKeyCase, Severity: finding.Error,
			Statement: "keys are written in lower case",
			Why:       "two keys that differ in case only would overwrite each other",
			Bad:       "Channel = \"VFIRE21\"", Good: "channel = \"VFIRE21\"",
			Fix: "write the key in lower case",
		}, {
			ID: tomlfile.RuleMissingKey, Severity: finding.Error,
			Statement: "every key that a table needs is there",
			Why:       "the card would lack what the key says",
			Bad:       "[incident]\nname = \"Thimble Gulch\"     # no period", Good: "[incident]\nname = \"Thimble Gulch\"\nperiod = 2",
			Fix: "add the key",
		}, {
			ID: tomlfile.RuleWrongType, Severity: finding.Error,
			Statement: "a value is of the kind that its key needs",
			Why:       whole,
			Bad:       "period = \"two\"", Good: "period = 2",
			Fix: "write the value as the help of the finding shows",
		}, {
			ID: tomlfile.RuleNoOffset, Severity: finding.Error,
			Statement: "every date and time of a plan has its UTC offset",
			Why:       "without it the hours of the period depend on the machine that prints",
			Bad:       "from = 2027-08-14T06:00:00", Good: "from = 2027-08-14T06:00:00-06:00",
			Fix: "write the offset of the incident's local time after it",
		}, {
			ID: tomlfile.RuleOutOfRange, Severity: finding.Error,
			Statement: "a number is within what its key allows",
			Why:       "beyond it the number is a typing error",
			Bad:       "latitude = 441.0", Good: "latitude = 44.1",
			Fix: "correct the number",
		}, {
			ID: tomlfile.RuleBadValue, Severity: finding.Error,
			Statement: "a value is one that its key can have",
			Why:       whole,
			Bad:       "use = \"tactcal\"", Good: "use = \"tactical\"",
			Fix: "write one of the values that the finding names",
		},
	}
}

func readingValues() []Rule {
	return []Rule{
		{
			ID: plan.RuleDuplicate, Severity: finding.Error,
			Statement: "a number or name that tells things apart stands once",
			Why:       "two groups, channels, sites, divisions or units with one name cannot be told apart",
			Bad:       "[[division]]\nid = \"A\"\n[[division]]\nid = \"A\"", Good: "[[division]]\nid = \"A\"\n[[division]]\nid = \"B\"",
			Fix: "change or delete one of the two",
		}, {
			ID: plan.RuleEmptyText, Severity: finding.Error,
			Statement: "a text that is needed is not empty",
			Why:       "the card would have a blank where somebody looks for it",
			Bad:       "name = \"\"", Good: "name = \"Thimble Gulch\"",
			Fix: "write the text",
		}, {
			ID: plan.RuleEmptyList, Severity: finding.Error,
			Statement: "a list that needs an item has one",
			Why:       "an empty list says that nothing is possible, or nobody is meant",
			Bad:       "carried_by = []", Good: "carried_by = [\"A\", \"B\"]",
			Fix: "name what is meant, or delete the key",
		}, {
			ID: plan.RuleDisplayName, Severity: finding.Error,
			Statement: "a display name is printable ASCII, with no space at either end and no two in a row",
			Why:       "that is what radios show; card and display would differ",
			Bad:       "name = \"QB  CMD 1\"", Good: "name = \"QB CMD 1\"",
			Fix: "write the name as the radio shows it",
		}, {
			ID: plan.RuleUnprintable, Severity: finding.Error,
			Statement: "every character can be printed in the typeface of cards and sheets",
			Why:       "paper would show an empty box, or nothing",
			Bad:       "name = \"Left flank \u2192\"", Good: "name = \"Left flank\"",
			Fix: "write it in other characters",
		}, {
			ID: plan.RuleLookAlike, Severity: finding.Error,
			Statement: "a name holds no letter of another script that looks like a Latin one",
			Why:       "two names that look the same would be different",
			Bad:       "id = \"\u0410\"     # a Cyrillic letter", Good: "id = \"A\"",
			Fix: "write the Latin letter",
		}, {
			ID: plan.RuleASCII, Severity: finding.Error,
			Statement: "what a scanned list holds is printable ASCII",
			Why:       "the code on the card holds nothing else, so that every phone shows it",
			Bad:       "edition = \"\u00e9t\u00e9 2027\"", Good: "edition = \"2027\"",
			Fix: "write it in letters, digits and signs of plain ASCII",
		}, {
			ID: plan.RuleDivisionID, Severity: finding.Error,
			Statement: "a division's id is short and has no space, comma, colon or equals sign",
			Why:       "it is spoken, printed large, and stands in the scanned list",
			Bad:       "id = \"Left flank\"", Good: "id = \"A\"\nname = \"Left flank\"",
			Fix: "write a letter or a short word; name can say more",
		}, {
			ID: plan.RuleCoordinates, Severity: finding.Error,
			Statement: "latitude and longitude stand together",
			Why:       "one of them alone is no place",
			Bad:       "latitude = 44.1", Good: "latitude = 44.1\nlongitude = -114.1",
			Fix: "add the other one, or delete both",
		}, {
			ID: plan.RuleLoadDates, Severity: finding.Error,
			Statement: "a load expires after it comes into effect",
			Why:       "nobody could tell whether the load is current",
			Bad:       "effective = 2027-03-01\nexpires   = 2026-03-31", Good: "effective = 2027-03-01\nexpires   = 2028-03-31",
			Fix: "correct effective and expires",
		}, {
			ID: plan.RuleSiteTone, Severity: finding.Error,
			Statement: "\"site\" stands only for the transmit tone of a channel in a load",
			Why:       "everywhere else the tone itself is needed",
			Bad:       "rx_tone = \"site\"", Good: "rx_tone = 103.5",
			Fix: "write the tone; in a plan name the site",
		}, {
			ID: plan.RuleTalkgroup, Severity: finding.Error,
			Statement: "a talkgroup has a system, a talkgroup and no frequencies",
			Why:       "its system assigns the frequencies; the scanned list joins both names by a slash",
			Bad:       "system = \"QB county\"\ntalkgroup = \"FIRE 2\"\nrx = 152.4125", Good: "system = \"QB county\"\ntalkgroup = \"FIRE 2\"",
			Fix: "delete rx, tx and tones, or system and talkgroup",
		}, {
			ID: plan.RuleSlotChannel, Severity: finding.Error,
			Statement: "a slot names its channel in exactly one way: by display name, by group and number, or by frequency",
			Why:       "two ways may mean two channels",
			Bad:       "[[slot]]\nchannel = \"VFIRE21\"\nrx = 154.2800", Good: "[[slot]]\nchannel = \"VFIRE21\"",
			Fix: "keep one of them; tx and tones stand only beside rx",
		}, {
			ID: plan.RuleSiteOrTone, Severity: finding.Error,
			Statement: "a repeater is chosen by site or by tone, not by both",
			Why:       "the two may differ",
			Bad:       "site = \"Bellwether\"\ntone = 4", Good: "site = \"Bellwether\"",
			Fix: "keep one of them",
		}, {
			ID: plan.RuleBesideDivision, Severity: finding.Error,
			Statement: "only a functional group names what it stands beside",
			Why:       "the neighbors of a stretch of line follow from the order of the divisions",
			Bad:       "[[division]]\nid = \"B\"\nbeside = [\"A\"]", Good: "[[division]]\nid = \"SP\"\nfunctional = true\nbeside = [\"A\"]",
			Fix: "delete beside, or add functional = true",
		}, {
			ID: plan.RuleLoadPath, Severity: finding.Error,
			Statement: "a plan names its load and its station file by a path relative to itself",
			Why:       "an absolute path exists on one machine only",
			Bad:       "load = \"/data/load.toml\"", Good: "load = \"../load.toml\"",
			Fix: "write the path from the plan's folder to the file",
		}, {
			ID: plan.RuleWrongFile, Severity: finding.Error,
			Statement: "where a plan is expected stands a plan, where a load is expected a load, and a station file where base names one",
			Why:       "they hold different things",
			Bad:       "load = \"plan.toml\"", Good: "load = \"load.toml\"",
			Fix: "name the other file",
		}, {
			ID: plan.RuleCarrierSquelch, Severity: finding.Error,
			Statement: "a load leaves the key of a tone out where there is none",
			Why:       "\"-\" is how paper writes that there is no tone; one way to write it in the file is enough",
			Bad:       "rx_tone = \"-\"", Good: "# no rx_tone",
			Fix: "delete the key",
		}, {
			ID: plan.RuleReceiveTransmit, Severity: finding.Error,
			Statement: "a channel with a transmit frequency has a receive frequency",
			Why:       "whoever transmits where they cannot listen interferes with others, and never knows it",
			Bad:       "name = \"QB X\"\ntx = 157.6725", Good: "name = \"QB X\"\nrx = 152.4125\ntx = 157.6725",
			Fix: "add rx, or take the channel out of the load",
		}, {
			ID: plan.RuleElevation, Severity: finding.Error,
			Statement: "an elevation is given once, in meters or in feet",
			Why:       "the two may differ, and nobody could tell which one holds",
			Bad:       "elevation_m  = 2500\nelevation_ft = 8202", Good: "elevation_ft = 8202",
			Fix: "keep one of them",
		}, {
			ID: plan.RuleRevision, Severity: finding.Error,
			Statement: "a revision has a number from 2 and a time within the period",
			Why:       "two cards of one period differ, and nobody could tell which one is newer",
			Bad:       "revision = 2", Good: "revision = 2\nrevised_at = 2027-08-14T13:05:00-06:00",
			Fix: "write when the plan was changed; a first issue has neither of the two keys",
		},
	}
}

func resolving() []Rule {
	return []Rule{
		{
			ID: plan.RuleUnknownChannel, Severity: finding.Error,
			Statement: "every channel that a plan or site names is in the load",
			Why:       "what is not in the load is not in the radios",
			Bad:       "channel = \"VFIRE12\"", Good: "channel = \"VFIRE21\"",
			Fix: "write the name, place or frequency as the load has it",
		}, {
			ID: plan.RuleAmbiguous, Severity: finding.Error,
			Statement: "what a slot names is exactly one channel of the load",
			Why:       "two channels with one name or one frequency and different tones do not hear each other",
			Bad:       "rx = 154.2800     # two channels with different tones", Good: "rx = 154.2800\ntx_tone = 156.7",
			Fix: "name the channel by group and number, or add the tones beside rx",
		}, {
			ID: plan.RuleContradiction, Severity: finding.Error,
			Statement: "transmit frequency and tones written beside rx are those of a channel in the load",
			Why:       "plan sheet and radios differ: one of them is wrong, or the load is of another edition",
			Bad:       "rx = 154.2800\ntx_tone = 136.5", Good: "rx = 154.2800\ntx_tone = 156.7",
			Fix: "compare with the plan sheet; if the sheet is right, no channel of this load serves",
		}, {
			ID: plan.RuleUnknownSite, Severity: finding.Error,
			Statement: "every site that a plan names is in the load",
			Why:       "nobody knows the tone of a site that is not",
			Bad:       "site = \"Belwether\"", Good: "site = \"Bellwether\"",
			Fix: "write the name as the load has it, or choose the repeater by tone = NUMBER",
		}, {
			ID: plan.RuleSiteNotCarrying, Severity: finding.Error,
			Statement: "the chosen site repeats the channel",
			Why:       "the tone is right and nobody answers: the repeater there is for other channels",
			Bad:       "channel = \"QB CMD 1\"\nsite = \"Harrow\"     # carries QB CMD 2 only", Good: "channel = \"QB CMD 1\"\nsite = \"Bellwether\"",
			Fix: "choose a site that carries the channel",
		}, {
			ID: plan.RuleUnknownTone, Severity: finding.Error,
			Statement: "every numbered tone that is named is in the load",
			Why:       "nobody knows what the number stands for",
			Bad:       "tone = 55", Good: "tone = 4",
			Fix: "write a number from the load's [[tone]] entries",
		}, {
			ID: plan.RuleSiteNotNeeded, Severity: finding.Error,
			Statement: "a site or tone is chosen only for a channel whose tx_tone is \"site\"",
			Why:       "the radio transmits the channel's own tone whatever the plan says",
			Bad:       "channel = \"VFIRE21\"\ntone = 4", Good: "channel = \"VFIRE21\"",
			Fix: "remove site or tone, or correct tx_tone of the channel in the load",
		}, {
			ID: plan.RuleNoSite, Severity: finding.Error,
			Statement: "a repeater is chosen for every channel that is opened by the tone of its site",
			Why:       "command is keyed, the tone is wrong, and nothing comes back",
			Bad:       "[[slot]]\nchannel = \"QB CMD 1\"", Good: "[[slot]]\nchannel = \"QB CMD 1\"\nsite = \"Bellwether\"",
			Fix: "write site = NAME of the repeater that covers the fire",
		}, {
			ID: plan.RuleUnknownDivision, Severity: finding.Error,
			Statement: "every division that a slot, unit or functional group names is in the plan",
			Why:       "nobody has the card that it was meant for",
			Bad:       "division = \"E\"     # the plan has A to D", Good: "division = \"D\"",
			Fix: "write an id of a [[division]], or add the division",
		}, {
			ID: plan.RuleBesideItself, Severity: finding.Error,
			Statement: "a functional group stands beside others",
			Why:       "beside says whose tactical the group listens to",
			Bad:       "id = \"SP\"\nfunctional = true\nbeside = [\"SP\"]", Good: "id = \"SP\"\nfunctional = true\nbeside = [\"A\"]",
			Fix: "name the divisions that it works beside",
		}, {
			ID: plan.RuleUnknownPosition, Severity: finding.Error,
			Statement: "every seat is of a position in the plan",
			Why:       "nobody knows what the seat listens to",
			Bad:       "seats = { \"Engine bos\" = 1 }", Good: "seats = { \"Engine boss\" = 1 }",
			Fix: "write the name of a [[position]], or add the position",
		}, {
			ID: plan.RuleUnknownSelector, Severity: finding.Error,
			Statement: "priority and scan name a selector, or the display name of a slot",
			Why:       "the seat would not listen to what is meant",
			Bad:       "scan = [\"neighbor\"]", Good: "scan = [\"neighbors\"]",
			Fix: "write own, neighbors, all, a use, or the display name of a slot",
		}, {
			ID: plan.RuleBrace, Severity: finding.Error,
			Statement: "a name in braces is that of a slot, a division or a use that the plan has",
			Why:       "the text would send people to a channel that nobody can find",
			Bad:       "instructions = \"Medical: move to {QB MEDIC}.\"", Good: "instructions = \"Medical: move to {QB MED}.\"",
			Fix: "write the display name of a slot, the id of a division, or a use such as {medical}; {{ is a brace",
		}, {
			ID: "exercise-differs", Severity: finding.Warning,
			Statement: "a plan on a load of exercise data does not say that it is no exercise",
			Why:       "its channels are invented: a card without the mark would be taken for a real one",
			Bad:       "[incident]\nexercise = false     # and exercise = true in the load", Good: "[incident]\nexercise = true",
			Fix: "remove exercise = false, or name a load of real channels",
		}, {
			ID: plan.RuleTooManyCards, Severity: finding.Error,
			Statement: "a plan has no more than 12,000 cards",
			Why:       "no incident has as many people: a number is wrong",
			Bad:       "seats = { \"Firefighter\" = 999 }     # in 13 units", Good: "seats = { \"Firefighter\" = 3 }",
			Fix: "correct the numbers of seats, or split the plan",
		},
	}
}

func accepting() []Rule {
	return []Rule{
		{
			ID: "accept-unknown-rule", Severity: finding.Error,
			Statement: "an acceptance names a rule",
			Why:       "the exception that was meant would not be made",
			Bad:       "rule = \"tactical-repeatet\"", Good: "rule = \"tactical-repeated\"",
			Fix: "write the identifier in brackets at the end of the finding",
		}, {
			ID: "accept-not-possible", Severity: finding.Error,
			Statement: "only rules that judge can be accepted, not those without which no card can be right",
			Why:       "nobody can answer for a list that cannot be built or that has no guard",
			Bad:       "[[accept]]\nrule = \"guard-last\"", Good: "# guard moved to the end of the list",
			Fix: "correct what the rule finds",
		}, {
			ID: "accept-unused", Severity: finding.Warning,
			Statement: "an acceptance matches a finding",
			Why:       "it would let through a fault that nobody has looked at yet",
			Bad:       "[[accept]]\nrule = \"tactical-repeated\"\nsubject = \"QB TAC 9\"     # direct by now", Good: "# removed",
			Fix: "remove it, or write the subject which the rule finds",
		},
	}
}

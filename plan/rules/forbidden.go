package rules

import (
	"fmt"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/published"
)

func init() {
	register(Rule{
		ID:        "never-transmit",
		Severity:  finding.Error,
		Statement: "no channel transmits on a distress, weather or aviation emergency frequency",
		Why:       "talk there covers a call of somebody in distress, or a broadcast that others depend on",
		Source:    "47 CFR 80.313 for maritime distress, NOAA Weather Radio, 121.5 and 243 MHz of aviation, all secondary",
		Bad:       "name = \"MARINE 16\"\nrx   = 156.8000",
		Good:      "name = \"MARINE 16\"\nrx   = 156.8000\nreceive_only = true",
		Fix:       "write receive_only = true at the channel; accept it where the service's own license and an emergency allow it",
		// A fireboat is a ship, and may call on channel 16.
		Acceptable: true,
		CheckLoad:  neverTransmit,
	})
}

func neverTransmit(l *plan.Load, report func(finding.Finding)) {
	for _, c := range conventional(l) {
		if c.ReceiveOnly {
			continue
		}
		kept, ok := published.KeptClear(c.Tx)
		if !ok {
			continue
		}
		key := "tx"
		if !c.Has(key) {
			key = "rx"
		}
		f := finding.Finding{
			Place: c.At(key), Subject: c.Name,
			Message: fmt.Sprintf("%s %s transmits on %s, which is kept clear for %s", c.Place(), c.Name, c.Tx, kept.For),
			Data:    facts{"channel": c.Name, "tx_hz": c.Tx, "for": kept.For, "source": kept.Source, "how": kept.How},
		}
		f.Offer(edit.In(c.Table).Set(c.Table, "receive_only", true).Edit("write receive_only = true at the channel"))
		f.Help = append(f.Help, "published in "+kept.Origin.String())
		report(f)
	}
}

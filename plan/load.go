package plan

import (
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Load is the set of channels programmed into an agency's radios for one
// edition, and what those radios can do: the file load.toml.
type Load struct {
	tomlfile.Table `toml:"-"`

	About  About    `toml:"load,required" doc:"which load this is"`
	Radio  Radio    `toml:"radio,required" doc:"what every radio that carries this load can do"`
	Tones  []*Tone  `toml:"tone" doc:"the agency's numbered transmit tones"`
	Sites  []*Site  `toml:"site" doc:"repeater sites"`
	Groups []*Group `toml:"group,required" doc:"groups of channels, as the radio shows them"`

	Accepts []*Accept `toml:"accept" doc:"findings of the load that somebody answers for, in every plan on it"`
}

// About names an edition of a load.
type About struct {
	tomlfile.Table `toml:"-"`

	Name      string `toml:"name,required" doc:"whose load it is"`
	Edition   string `toml:"edition,required" doc:"the edition, usually a year"`
	Colour    string `toml:"color,required" alias:"colour" doc:"color of the label on the radio and of the cover of the book"`
	Effective Date   `toml:"effective,required" doc:"first day on which the load is valid"`
	Expires   Date   `toml:"expires,required" doc:"last day on which the load is valid"`
	Exercise  bool   `toml:"exercise" doc:"invented data: every page of the book bears the exercise mark"`
}

// Radio is what every radio that carries a load can do.
type Radio struct {
	tomlfile.Table `toml:"-"`

	Raster        Raster       `toml:"raster" doc:"\"none\": another country's channel raster; then frequencies off the raster are not judged"`
	ListPositions int          `toml:"list_positions,required" doc:"positions in a list that a user can build"`
	NameLength    int          `toml:"name_length,required" doc:"characters its display shows"`
	Bands         []Band       `toml:"bands,required" doc:"bands in MHz, lowest and highest frequency, both inclusive"`
	Modes         []radio.Mode `toml:"modes,required" doc:"modes it can use"`
}

// Raster tells by which channel raster frequencies are judged.
type Raster uint8

const (
	USRaster Raster = iota // those of the United States: the default
	NoRaster               // none: the load is of a land that has others
)

func (r Raster) String() string { return [...]string{"", "none"}[r] }

// Band is a range of frequencies, both ends inclusive.
type Band struct{ Low, High radio.Hertz }

// Tone is a transmit tone that an agency has numbered ("tone 4").
type Tone struct {
	tomlfile.Table `toml:"-"`

	Number int           `toml:"number,required" doc:"the agency's number for the tone"`
	Hz     radio.Squelch `toml:"hz,required" doc:"the tone in hertz, or a DCS code"`
}

// Site is a repeater site, and the tone that opens it.
type Site struct {
	tomlfile.Table `toml:"-"`

	Name      string   `toml:"name,required" doc:"name of the site"`
	Tone      ToneRef  `toml:"tone,required" doc:"the tone that opens it: a numbered tone, or a squelch value"`
	Latitude  *float64 `toml:"latitude" doc:"decimal degrees, WGS 84, north positive"`
	Longitude *float64 `toml:"longitude" doc:"decimal degrees, WGS 84, east positive"`
	Elevation *float64 `toml:"elevation_m" doc:"meters above sea level"`

	ElevationFt *float64 `toml:"elevation_ft" doc:"feet above sea level, in place of elevation_m"`

	Channels []string `toml:"channels,required" doc:"display names of the channels repeated there"`

	Squelch radio.Squelch `toml:"-"` // Tone, looked up in the load
}

// Group is a group of channels as the radio shows it. (Not a functional group
// of an incident: that is a [Division].)
type Group struct {
	tomlfile.Table `toml:"-"`

	Number   int        `toml:"number,required" doc:"number of the group"`
	Name     string     `toml:"name,required" doc:"name of the group"`
	Channels []*Channel `toml:"channel" doc:"channels of the group"`
}

// Channel is one channel of a load, at one place in it.
type Channel struct {
	tomlfile.Table `toml:"-"`

	Number      int           `toml:"number,required" doc:"channel number in the group"`
	Name        string        `toml:"name,required" doc:"display name: what the radio shows"`
	Use         radio.Use     `toml:"use,required" doc:"what the channel is for"`
	Rx          radio.Hertz   `toml:"rx" doc:"receive frequency in MHz"`
	Tx          radio.Hertz   `toml:"tx" doc:"transmit frequency in MHz; absent: same as rx"`
	RxTone      radio.Squelch `toml:"rx_tone" doc:"receive squelch: absent, hertz, DCS code or NAC"`
	TxTone      radio.Squelch `toml:"tx_tone" doc:"transmit squelch, or \"site\": the incident chooses the repeater"`
	Mode        radio.Mode    `toml:"mode" doc:"analog, digital or mixed; default analog"`
	Width       radio.Width   `toml:"width" doc:"narrow or wide; default narrow"`
	ReceiveOnly bool          `toml:"receive_only" doc:"the radio cannot transmit on it"`
	EditionMark bool          `toml:"edition_mark" doc:"this display name carries the load's edition"`
	Remarks     string        `toml:"remarks" doc:"printed in the book"`
	System      string        `toml:"system" doc:"trunked system, in place of rx and tx"`
	Talkgroup   string        `toml:"talkgroup" doc:"talkgroup of the system"`

	Group *Group `toml:"-"`
}

// Programming is everything that a channel puts into a radio but its place in
// the load. Two channels are the same where it is equal.
type Programming struct {
	Name              string
	Rx, Tx            radio.Hertz
	RxTone, TxTone    radio.Squelch
	Mode              radio.Mode
	Width             radio.Width
	ReceiveOnly       bool
	System, Talkgroup string
}

// Programming of the channel.
func (c *Channel) Programming() Programming {
	return Programming{c.Name, c.Rx, c.Tx, c.RxTone, c.TxTone, c.Mode, c.Width, c.ReceiveOnly, c.System, c.Talkgroup}
}

// Trunked tells whether the channel is a talkgroup.
func (c *Channel) Trunked() bool { return c.System != "" }

// Repeated tells whether a repeater stands between those who talk: transmit
// differs from receive, or the transmit tone is a site's.
func (c *Channel) Repeated() bool {
	return !c.Trunked() && (c.Rx != c.Tx || c.TxTone == radio.Site)
}

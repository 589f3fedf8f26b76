package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
)

// A tactical is dragged onto a division, at its row and in the ring.
func TestDeskDrags(t *testing.T) {
	b := browse(t)
	b.to("/divisions/thimble-gulch/plan.toml")
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	chip := func(division, slot string) string {
		return fmt.Sprintf(`document.querySelector("#division-%s [data-letter='%s']")`, division, slot)
	}
	drag := func(from, to string) {
		t.Helper()
		assert.True(t, is[bool](b, fmt.Sprintf(`(() => {
			const from = %s, to = %s;
			to.scrollIntoView({block: "center"});
			const r = to.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2, on = document.elementFromPoint(x, y);
			const fire = (type, at) => at.dispatchEvent(new DragEvent(type, {dataTransfer: new DataTransfer(), clientX: x, clientY: y, bubbles: true, cancelable: true}));
			return fire("dragstart", from) && !fire("dragover", on) && !fire("drop", on);
		})()`, from, to)))
	}
	talks := func(division, slot, pressed string) {
		t.Helper()
		b.soon(chip(division, slot) + fmt.Sprintf(`.getAttribute("aria-pressed") === %q`, pressed))
	}
	talks("A", "3", "false")
	drag(chip("B", "3"), `document.querySelector("#division-A")`)
	talks("A", "3", "true")
	talks("B", "3", "true")
	ring := `document.querySelector(".slotcard-area[data-line='" + document.querySelector("#division-Z").dataset.line + "']")`
	talks("Z", "3", "false")
	drag(chip("B", "3"), ring)
	talks("Z", "3", "true")
	// Beside the divisions nothing is taken.
	assert.False(t, is[bool](b, fmt.Sprintf(`(() => {
		%s.dispatchEvent(new DragEvent("dragstart", {dataTransfer: new DataTransfer(), bubbles: true}));
		return !document.querySelector("h1").dispatchEvent(new DragEvent("dragover", {dataTransfer: new DataTransfer(), bubbles: true, cancelable: true}));
	})()`, chip("B", "4"))))

	// In the ring, a division is dragged to the place of another; by keys it moves in the
	// order of the rows.
	order := func(want string) {
		t.Helper()
		b.soon(fmt.Sprintf(`[...document.querySelectorAll("[data-row]")].map((r) => r.querySelector("[name=name]").value).join(" ").startsWith(%q)`, want))
	}
	area := func(division string) string {
		return `document.querySelector(".slotcard-area[data-line='" + document.querySelector("#division-` + division + `").dataset.line + "']")`
	}
	carry := func(from, to string) {
		t.Helper()
		is[bool](b, fmt.Sprintf(`(() => {
			const from = %s, to = %s;
			to.scrollIntoView({block: "center"});
			const fire = (type, at) => {
				const r = at.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;
				return at.closest(".paper").dispatchEvent(new PointerEvent(type, {pointerType: "mouse", button: 0, clientX: x, clientY: y, bubbles: true, cancelable: true}));
			};
			return !fire("pointerdown", from) && fire("pointermove", to) && to.hasAttribute("data-over") && fire("pointerup", to);
		})()`, from, to))
	}
	before := is[string](b, `[...document.querySelectorAll("[data-row]")].map((r) => r.querySelector("[name=name]").value).join(" ")`)
	ids := strings.Fields(before)
	carry(area(ids[0]), area(ids[2]))
	order(strings.Join([]string{ids[1], ids[2], ids[0]}, " "))
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	is[bool](b, `document.querySelectorAll("[data-row]")[2].focus(), true`)
	b.press(kb.ArrowUp, chromedp.ModifierAlt)
	order(strings.Join([]string{ids[1], ids[0], ids[2]}, " "))
	assert.Empty(t, b.elsewhere())
}

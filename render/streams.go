package render

import (
	"bytes"
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/klauspost/compress/zlib"

	"slotcard/layout"
)

// level of compression: a ninth smaller than the fastest, in twice its time, and 3 %
// larger than what takes three times as long (measured on the papers of a plan).
const level = 6

// contents draws and compresses every form, then every page, on all cores. Each is
// drawn by itself, so that the bytes do not depend on which core drew what.
func (p *pdf) contents(d *layout.Document) (forms, pages [][]byte) {
	done := make([][]byte, len(p.list)+len(d.Pages))
	draw := func(k *ink, i int) {
		if i < len(p.list) {
			f := p.list[i]
			k.begin(f.height, f.dx, f.dy)
			k.items(f.panel.All())
			return
		}
		pg := &d.Pages[i-len(p.list)]
		k.begin(pg.Height, 0, 0)
		k.page(pg)
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(done)) {
		wg.Go(func() {
			k := &ink{pdf: p}
			for {
				i := int(next.Add(1)) - 1
				if i >= len(done) {
					return
				}
				pack := packers.Get().(*packer)
				k.buf = pack.raw
				draw(k, i)
				pack.raw = k.buf
				done[i] = pack.pack(k.buf)
				packers.Put(pack)
			}
		})
	}
	wg.Wait()
	return done[:len(p.list)], done[len(p.list):]
}

// packers are at hand for all documents: each takes most of a megabyte, so that there
// should be no more of them than work at one moment.
var packers = sync.Pool{New: func() any {
	p := new(packer)
	var err error
	if p.z, err = zlib.NewWriterLevel(&p.out, level); err != nil {
		panic(err) // a level that does not exist
	}
	return p
}}

// packer compresses; it is made once and used for many.
type packer struct {
	raw []byte // room for what is to be compressed
	out bytes.Buffer
	z   *zlib.Writer
}

// pack is what data are when compressed.
func (p *packer) pack(data []byte) []byte {
	p.out.Reset()
	p.z.Reset(&p.out)
	p.z.Write(data) // a buffer takes everything
	p.z.Close()
	return bytes.Clone(p.out.Bytes())
}

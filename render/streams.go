package render

import (
	"bytes"
	"compress/zlib"
	"runtime"
	"sync"
	"sync/atomic"

	"slotcard/layout"
)

// level of compression: within 3 % of the size that the default makes, in two
// thirds of its time, and an eighth smaller than the fastest (measured on cards).
const level = 4

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
			pack := packers.Get().(*packer)
			defer packers.Put(pack)
			for {
				i := int(next.Add(1)) - 1
				if i >= len(done) {
					return
				}
				draw(k, i)
				done[i] = bytes.Clone(pack.pack(k.buf))
			}
		})
	}
	wg.Wait()
	return done[:len(p.list)], done[len(p.list):]
}

// packers are at hand for all documents: each takes most of a megabyte.
var packers = sync.Pool{New: func() any { return new(packer) }}

// packer compresses; it is made once and used for many.
type packer struct {
	out bytes.Buffer
	z   *zlib.Writer
}

// pack is what data are when compressed, up to the next call.
func (p *packer) pack(data []byte) []byte {
	p.out.Reset()
	if p.z == nil {
		var err error
		if p.z, err = zlib.NewWriterLevel(&p.out, level); err != nil {
			panic(err) // a level that does not exist
		}
	} else {
		p.z.Reset(&p.out)
	}
	p.z.Write(data) // a buffer takes everything
	p.z.Close()
	return p.out.Bytes()
}

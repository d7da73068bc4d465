package open

import "ampleway/stations"

// siteList holds sites while a file is read. It grows by blocks, so that a
// site keeps its address and none is copied until the end.
type siteList struct {
	blocks [][]foundSite
	n      int
}

type foundSite struct {
	site  stations.Site
	where at
}

const blockSites = 1024

func (l *siteList) add(s stations.Site, where at) {
	if l.n%blockSites == 0 {
		l.blocks = append(l.blocks, make([]foundSite, 0, blockSites))
	}
	l.n++
	block := &l.blocks[len(l.blocks)-1]
	*block = append(*block, foundSite{s, where})
}

func (l *siteList) last() *foundSite {
	block := l.blocks[len(l.blocks)-1]
	return &block[len(block)-1]
}

// drain visits the sites in order and lets go of them.
func (l *siteList) drain(visit func(*foundSite)) {
	for i, block := range l.blocks {
		for j := range block {
			visit(&block[j])
		}
		l.blocks[i] = nil
	}
	*l = siteList{}
}

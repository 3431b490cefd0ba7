package change

// sleeveChanges lists what a sleeve can become.
func sleeveChanges() []Definition {
	return []Definition{definePetal(), defineTaper(), defineFlare(), defineGatheredHead(), defineGatheredHem(), defineGatheredBoth(), defineSlit(), defineCapEase(), defineCapHeight(), defineTurnBackCuff(), defineFlutter(), defineTwoPiece(), defineElbow()}
}

verify lifft.trn.md

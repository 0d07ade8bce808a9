# Files that use one another, 120 deep.
mkdir chain
i=1
while [ $i -le 120 ]; do
    echo "use \"$((i + 1)).trn\"" >chain/$i.trn
    i=$((i + 1))
done
echo 'form jar { given mass : mass }' >chain/121.trn

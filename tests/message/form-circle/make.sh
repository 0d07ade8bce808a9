# Forms that build on one another, 60 deep.
{
    echo 'form jar-1 { given mass : mass }'
    i=2
    while [ $i -le 60 ]; do
        echo "form jar-$i : jar-$((i - 1)) { given mass-$i : mass }"
        i=$((i + 1))
    done
} >wrong-deep.trn

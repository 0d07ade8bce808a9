# Each value is one more than the one after it.
{
    echo 'form pile {'
    i=1
    while [ $i -le 1990 ]; do
        echo "  let n$i : number = n$((i + 1)) + 1"
        i=$((i + 1))
    done
    echo '  let n1991 : number = 1'
    echo '}'
    echo 'form two : pile { let m : number = n1  }'
} >/dev/null
{
    i=1
    echo 'form jar { given mass : mass }'
    echo 'jar jar-0 { mass = 1 g }'
    while [ $i -le 3200 ]; do
        echo "jar jar-$i { mass = jar-$((i - 1)).mass + 1 g }"
        i=$((i + 1))
    done
} | tac >wrong.trn

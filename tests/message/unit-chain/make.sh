# Each unit is twice the one below it.
letters() { echo "$1" | tr 0123456789 abcdefghij; }
{
    i=110
    while [ $i -ge 1 ]; do
        echo "unit jar_$(letters $i) = 2 jar_$(letters $((i - 1)))"
        i=$((i - 1))
    done
    echo 'unit jar_a = 1 count'
} >wrong.trn

// Weighs the networks of a file with the three exact engines of a general Bayesian-network library
// and tells what comes out, one result a line:
//     p CASE ENGINE CAUSE PROBABILITY       ms CASE MILLISECONDS KEPT
// The times are those of the junction tree for one set of answers, all causes out, the machine warm,
// the median of many: from network and answers alone, and with the tree kept from the update before.
// Usage: node infer.js FOLDER_OF_THE_LIBRARY FILE
'use strict'

const { readFileSync } = require('fs')
const { inferences } = require(process.argv[2])
const cases = JSON.parse(readFileSync(process.argv[3], 'utf8'))
const ROUNDS = 300

// The library keeps trees by the network object and what it propagated by the object of the answers:
// within one update both serve all causes, a new object stands for a new start.
const marginals = (engine, network, c) => {
	const given = { ...c.given }
	return c.causes.map((cause) => engine.infer(network, { [cause]: 'yes' }, given))
}

const median = (numbers) => numbers.sort((a, b) => a - b)[Math.floor(numbers.length / 2)]

const timed = (work) => {
	const begin = process.hrtime.bigint()
	work()
	return Number(process.hrtime.bigint() - begin) / 1e6
}

const usual = (work) => {
	const ms = []
	let total = 0
	work()
	while (ms.length < ROUNDS && total < 2000) {
		ms.push(timed(work))
		total += ms[ms.length - 1]
	}
	return median(ms)
}

for (const c of cases) {
	const tree = inferences.junctionTree
	for (const name of Object.keys(inferences)) {
		if (name === 'enumeration' && Object.keys(c.network).length > 18) continue // 2^18 sums
		marginals(inferences[name], c.network, c).forEach((p, i) =>
			console.log(`p ${c.name} ${name} ${c.causes[i]} ${p}`))
	}
	const anew = usual(() => marginals(tree, { ...c.network }, c))
	console.log(`ms ${c.name} ${anew} ${usual(() => marginals(tree, c.network, c))}`)
}

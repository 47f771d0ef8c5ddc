// Weighs the networks of a file with the three exact engines of a general Bayesian-network library
// and tells what comes out, one result a line:
//     p CASE ENGINE CAUSE PROBABILITY       ms CASE MILLISECONDS
// The time is that of the junction tree for one set of answers, all causes out, the tree kept from
// the update before and the machine warm: the median of many.
// Usage: node infer.js FOLDER_OF_THE_LIBRARY FILE
'use strict'

const { readFileSync } = require('fs')
const { inferences } = require(process.argv[2])
const cases = JSON.parse(readFileSync(process.argv[3], 'utf8'))
const ROUNDS = 300

const marginals = (engine, c) => {
	const given = { ...c.given } // a new object: nothing of the last update is reused but the tree
	return c.causes.map((cause) => engine.infer(c.network, { [cause]: 'yes' }, given))
}

const median = (numbers) => numbers.sort((a, b) => a - b)[Math.floor(numbers.length / 2)]

const timed = (work) => {
	const begin = process.hrtime.bigint()
	work()
	return Number(process.hrtime.bigint() - begin) / 1e6
}

for (const c of cases) {
	const tree = inferences.junctionTree
	for (const name of Object.keys(inferences)) {
		if (name === 'enumeration' && Object.keys(c.network).length > 18) continue // 2^18 sums
		marginals(inferences[name], c).forEach((p, i) =>
			console.log(`p ${c.name} ${name} ${c.causes[i]} ${p}`))
	}
	timed(() => marginals(tree, c)) // the first one makes the tree
	const ms = []
	let total = 0
	while (ms.length < ROUNDS && total < 3000) {
		ms.push(timed(() => marginals(tree, c)))
		total += ms[ms.length - 1]
	}
	console.log(`ms ${c.name} ${median(ms)}`)
}
